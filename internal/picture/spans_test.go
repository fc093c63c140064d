package picture

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

func of(x float64) *float64 { return &x }

// inside checks that every mark of a picture lies within it.
func inside(t *testing.T, p *Picture) {
	t.Helper()
	for _, m := range p.marks {
		if m.text != "" {
			w := widthOf(m.text, m.size, m.mono)
			from := map[anchor]float64{start: m.x, middle: m.x - w/2, end: m.x - w}[m.at]
			if from < -8 || from+w > p.Width+8 || m.x < 0 || m.x > p.Width+1 || m.y < 0 || m.y > p.Height { // letters are taken as wide
				t.Errorf("%q stands at %.0f, %.0f in %.0f × %.0f", m.text, m.x, m.y, p.Width, p.Height)
			}
			continue
		}
		for _, s := range m.path {
			if s.op != 'Z' && !(s.points[0].x >= -1 && s.points[0].x <= p.Width+1 && s.points[0].y >= -1 && s.points[0].y <= p.Height+1) {
				t.Errorf("a mark lies at %v, outside %.0f × %.0f", s.points[0], p.Width, p.Height)
			}
		}
	}
}

func TestSpans(t *testing.T) {
	s := Spans{Title: "Jars that gave nothing", Unit: "% of the jars", Column: "Arm", To: 100, Finding: "one of twelve", Rows: []Span{
		{Name: "oats", Sign: 0, Note: "1 of 12", Value: of(8.333), Low: of(1.5), High: of(35.4)},
		{Name: strings.Repeat("기장 ", 60), Sign: 1, Note: "0 of 0"},
	}}
	for _, wide := range []float64{340, 694} {
		p := s.Draw(wide)
		inside(t, p)
		if got := strings.Join(p.Table.Rows[0], "|"); got != "oats|1 of 12|8.3|1.5|35.4" {
			t.Errorf("the table says %q", got)
		}
		if got := strings.Join(p.Table.Rows[1][2:], "|"); got != "not known|not known|not known" {
			t.Errorf("of no jar the table says %q", got)
		}
	}
	signed := Spans{Title: "Cook by cook", Signed: true, Matters: 2, Rows: []Span{{Name: "cook 1", Sign: -1, Value: of(-3), Low: of(-8), High: of(2)}}}
	p := signed.Draw(340)
	inside(t, p)
	if p.Table.Rows[0][2] != "−3" || p.Table.Rows[0][4] != "+2" {
		t.Errorf("differences are written %v", p.Table.Rows[0])
	}
}

func TestChance(t *testing.T) {
	c := Chance{Matters: 20, Planned: 6, Finding: "f"}
	for n := 2; n <= 24; n++ {
		c.Points = append(c.Points, ChancePoint{n, 1 - math.Exp(-float64(n)/20)})
	}
	for _, wide := range []float64{340, 694} {
		p := c.Draw(wide)
		inside(t, p)
		svg := string(p.SVG("x"))
		if !strings.Contains(svg, "6 jars: 26 %") || len(p.Table.Rows) != 23 {
			t.Errorf("the planned number is not marked, or the table has %d rows", len(p.Table.Rows))
		}
	}
	inside(t, Chance{}.Draw(340))
}

// Twelve arms with long names keep their letters, and a key names them in full.
func TestEvidenceOfManyArms(t *testing.T) {
	for name, arm := range map[string]string{"latin": "a rung with a long name", "hangul": "귀리 배지에 맥아를 더한 것", "endless": strings.Repeat("x", 300)} {
		e := Evidence{Unit: "g"}
		for i := range 12 {
			e.Arms = append(e.Arms, EvidenceArm{Name: fmt.Sprintf("%s %d", arm, i+1), Sign: i, Mean: of(float64(10 + i))})
			for k := range 4 {
				e.Jars = append(e.Jars, EvidenceJar{Name: "j", Arm: i, Grams: float64(8 + i + k)})
			}
		}
		for _, wide := range []float64{340, 694} {
			p := e.Draw(wide)
			inside(t, p)
			svg := string(p.SVG("x"))
			if !strings.Contains(svg, ">L</text>") {
				t.Errorf("%s, %.0f px: no letter for the twelfth arm", name, wide)
			}
			if name == "latin" && !strings.Contains(svg, "a rung with a long name 12") {
				t.Errorf("%.0f px: the key does not name the twelfth arm", wide)
			}
		}
	}
}
