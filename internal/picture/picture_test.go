package picture

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"github.com/go-fonts/dejavu/dejavusansmono"
)

func ref(x float64) *float64 { return &x }

// Where nothing is picked yet the axis reads 0 to 1, in quarters that have room.
func TestEvidenceAxisIsNotCutOff(t *testing.T) {
	for _, wide := range []float64{358, 694} {
		inside(t, Evidence{Unit: "g", Arms: []EvidenceArm{{Name: "oats"}}}.Draw(wide))
	}
}

// evidence is an invented trial of n jars an arm.
func evidence(arms, n int) Evidence {
	e := Evidence{Unit: "g per jar inoculated", Matters: 2, Finding: "Millet gave 5.9 g more than oats, at least 1.8 and at most 10.1."}
	names := []string{"oats", "millet", "barley with a name that is much too long for its column", "rye", "Reis 米", "wheat"}
	for a := range arms {
		mean := 10 + 3*float64(a)
		e.Arms = append(e.Arms, EvidenceArm{Name: names[a], Sign: a, Mean: ref(mean), Low: ref(mean - 1.7), High: ref(mean + 1.7)})
		for i := range n {
			g := mean + 2.5*math.Sin(float64(7*i+3*a))
			lost := i == 3 && a == 1
			if lost {
				g = 0
			}
			e.Jars = append(e.Jars, EvidenceJar{fmt.Sprintf("B2·%d", i*arms+a+1), a, fmt.Sprintf("cook %d, layer %d", 3+i%2, 1+i/2%2), g, lost})
		}
		if a > 0 {
			e.Differences = append(e.Differences, EvidenceDifference{names[a] + " less oats", a, 3 * float64(a), 3*float64(a) - 4.1, 3*float64(a) + 4.1, false})
		}
	}
	return e
}

func load(jars int) Load {
	l := Load{Name: "cook 3", Signs: true}
	for _, n := range []int{2, 1} {
		layer := LoadLayer{Number: n}
		for i := range jars {
			layer.Jars = append(layer.Jars, LoadJar{i + 1 + jars*(2-n), "K73QF", i % 2, i == jars-1})
		}
		l.Layers = append(l.Layers, layer)
	}
	return l
}

func shelf(jars int) Shelf {
	looks := []Look{{State: Bare}, {State: Given}, {State: Covering, Cover: 0.5}, {State: Covering, Cover: 1}, {State: Coloured}, {State: Pinned}, {State: Fruiting, Ready: true}, {State: Taken}, {State: Gone}, {State: Blank}, {State: Pinned, Late: true}}
	s := Shelf{Name: "Shelf map"}
	for _, name := range []string{"top", "low"} {
		b := ShelfBoard{Name: name}
		for i := range jars {
			look := looks[i%len(looks)]
			b.Jars = append(b.Jars, ShelfJar{Name: fmt.Sprintf("B7·%d", i+1), Number: i + 1, Word: string(look.State), Link: "/j/K73QF", Look: look, Arm: i%3 - 1})
		}
		s.Boards = append(s.Boards, b)
	}
	return s
}

func season() Season {
	day := func(n int) time.Time { return time.Date(2026, 1, 10, 0, 0, 0, 0, time.UTC).AddDate(0, 0, n) }
	s := Season{Name: "Season line", From: day(0), To: day(190), Today: day(150)}
	for i := range 3 {
		d := 45 * i
		s.Lines = append(s.Lines, SeasonLine{
			Name: fmt.Sprintf("B%d Spring millet", i+1), Note: "24 jars", From: day(d), To: day(d + 72),
			Marks: []SeasonMark{
				{day(d), Cooked, "cooked"},
				{day(d + 1), DroppedIn, "inoculated"},
				{day(d + 15), Covered, "full cover"},
				{day(d + 19), Lit, "light"},
				{day(d + 32), Pinning, "pins"},
				{day(d + 21), Foul, "2 fouled"},
				{day(d + 60), PickedOff, "picked"},
				{day(d + 72), Closing, "closes"},
			},
			Windows: []SeasonWindow{{day(d + 28), day(d + 38), day(d + 30), day(d + 35), day(d + 32), "pins"}, {day(d + 55), day(d + 66), day(d + 57), day(d + 62), day(d + 60), "pick"}},
		})
	}
	return s
}

func wear(n int) Wear {
	w := Wear{Name: "What the line of LC-3 gave", Finding: "Nothing shows that it tires.", Fall: &WearFall{-8, -15, -1}}
	for i := range n {
		w.Readings = append(w.Readings, WearReading{Transfer: i / 2, Grams: 14 - 0.9*float64(i/2) + 0.4*float64(i%3), SE: 0.4 + 0.2*float64(i%2), Jars: 6 + i, Culture: "LC-3", Says: "B12", This: i == n-1})
	}
	return w
}

func descent(n int) Descent {
	day := func(n int) time.Time { return time.Date(2026, 1, 10, 0, 0, 0, 0, time.UTC).AddDate(0, 0, n) }
	d := Descent{Name: "The line of LC-4", Today: day(200)}
	for i := range n {
		c := DescentCulture{Name: fmt.Sprintf("LC-%d", i), Note: "LC, transfer 2", Parent: i/2 - 1, Made: day(12 * i), This: i == 4, Doubt: i == 3, Link: "/cultures/LC"}
		if i%3 == 1 {
			c.Ended = day(12*i + 60)
		}
		c.Marks = []DescentMark{{day(12*i + 5), Covered, "tested clean"}, {day(12*i + 70), PickedOff, "fruited"}}
		d.Cultures = append(d.Cultures, c)
	}
	return d
}

// every returns each kind of picture with few, usual and many data.
func every() map[string]*Picture {
	all := map[string]*Picture{
		"evidence-phone": evidence(2, 12).Draw(358), "evidence-desk": evidence(3, 12).Draw(694), "evidence-six": evidence(6, 8).Draw(694),
		"evidence-many": evidence(2, 200).Draw(694), "evidence-none": Evidence{Unit: "g"}.Draw(358),
		"load-phone": load(7).Draw(358), "load-desk": load(7).Draw(694), "load-one": load(1).Draw(358), "load-many": load(40).Draw(694),
		"shelf-phone": shelf(11).Draw(358), "shelf-desk": shelf(22).Draw(940), "shelf-none": shelf(0).Draw(358), "shelf-many": shelf(400).Draw(940),
		"season-phone": season().Draw(358), "season-desk": season().Draw(694), "season-none": Season{Name: "Season"}.Draw(358),
		"wear-phone": wear(6).Draw(358), "wear-desk": wear(14).Draw(694), "wear-none": Wear{Name: "No line", Finding: "Nothing yet."}.Draw(358),
		"descent-phone": descent(6).Draw(358), "descent-desk": descent(9).Draw(694), "descent-none": Descent{Name: "No line"}.Draw(358),
		"heat-phone": heat(2).Draw(358), "heat-desk": heat(2).Draw(694), "heat-none": Heat{Name: "cook 1", Finding: "nothing"}.Draw(358), "heat-many": heat(9).Draw(694),
		"spark": Spark{Name: "Grams by batch", Unit: "g", Values: []float64{3, 5, 4, 8}}.Draw(120), "spark-none": Spark{}.Draw(120),
	}
	maps.Copy(all, days())
	return all
}

// Every picture is sound XML with a name, says its finding, and draws nothing
// outside its frame or without a place.
func TestPicturesAreSound(t *testing.T) {
	for name, p := range every() {
		svg := string(p.SVG("p"))
		d := xml.NewDecoder(strings.NewReader(svg))
		open := 0
		for {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			switch token.(type) {
			case xml.StartElement:
				open++
			case xml.EndElement:
				open--
			}
		}
		if open != 0 || strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Errorf("%s: %d elements left open, or a place that is no number", name, open)
		}
		if p.Desc == "" && name != "evidence-none" {
			t.Errorf("%s says nothing to those who can not see it", name)
		}
		for _, m := range p.marks {
			for _, s := range m.path {
				for _, q := range s.points {
					if q.x < -1 || q.x > p.Width+1 || q.y < -1 || q.y > p.Height+1 {
						t.Fatalf("%s draws at %.0f, %.0f, outside of %.0f × %.0f", name, q.x, q.y, p.Width, p.Height)
					}
				}
			}
			if m.text != "" && (m.y < 0 || m.y > p.Height+1) {
				t.Errorf("%s writes %q at height %.0f of %.0f", name, m.text, m.y, p.Height)
			}
		}
	}
}

func TestTextsAreEscaped(t *testing.T) {
	e := evidence(2, 4)
	e.Arms[0].Name = `<script>"&`
	e.Finding = `</desc><script>`
	if svg := string(e.Draw(358).SVG("p")); strings.Contains(svg, "<script") {
		t.Error("a name is written as markup")
	}
}

// Jars in a layer do not touch each other nor the wall.
func TestRingSpotsKeepApart(t *testing.T) {
	for n := 1; n <= 60; n++ {
		spots, r := ringSpots(n, 150)
		if len(spots) != n {
			t.Fatalf("%d jars get %d spots", n, len(spots))
		}
		for i, a := range spots {
			if math.Hypot(a.x, a.y)+r > 150.01 {
				t.Errorf("of %d jars, jar %d stands in the wall", n, i)
			}
			for _, b := range spots[:i] {
				if d := math.Hypot(a.x-b.x, a.y-b.y); d < 2*r-0.01 {
					t.Fatalf("of %d jars of radius %.1f, two stand %.1f apart", n, r, d)
				}
			}
		}
	}
}

// Arms are told apart by shape, not by colour alone.
func TestArmSignsDiffer(t *testing.T) {
	seen := make(map[string]int)
	for i := range MaxArms {
		p := &Picture{}
		p.marker(i, 0, 0, 10)
		var b strings.Builder
		for k := range p.marks[0].path {
			p.marks[0].path[k].write(&b)
		}
		if j, ok := seen[b.String()]; ok {
			t.Errorf("arms %d and %d have the same shape", i, j)
		}
		seen[b.String()] = i
	}
}

func TestNiceSteps(t *testing.T) {
	for _, c := range []struct {
		low, high      float64
		from, to, step float64
	}{
		{0, 23, 0, 25, 5}, {-4.1, 9.2, -5, 10, 2.5}, {0, 0, 0, 1, 0.25}, {0, 1, 0, 1, 0.25},
	} {
		from, to, step := nice(c.low, c.high, 4)
		if from > c.low || to < c.high || step <= 0 || (to-from)/step > 9 {
			t.Errorf("nice(%g, %g) = %g to %g by %g", c.low, c.high, from, to, step)
		}
	}
}

// document is an A4 page with the fonts that pictures need.
func document() (*fpdf.Fpdf, Fonts) {
	doc := fpdf.New("P", "mm", "A4", "")
	doc.AddUTF8FontFromBytes("sans", "", dejavusans.TTF)
	doc.AddUTF8FontFromBytes("sans", "B", dejavusansbold.TTF)
	doc.AddUTF8FontFromBytes("mono", "", dejavusansmono.TTF)
	return doc, Fonts{"sans", "mono"}
}

func TestPicturesGoOnPaper(t *testing.T) {
	doc, fonts := document()
	for _, p := range every() {
		doc.AddPage()
		p.PDF(doc, fonts, 15, 20, 180)
	}
	var b bytes.Buffer
	if err := doc.Output(&b); err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(b.Bytes(), []byte("%PDF-")) {
		t.Error("no PDF was written")
	}
}

// With PINSET_SHOTS set, the pictures are written there to be looked at.
func TestLook(t *testing.T) {
	dir := os.Getenv("PINSET_SHOTS")
	if dir == "" {
		return
	}
	css := "body{background:#f5f2ea;font-family:'Noto Sans','DejaVu Sans',sans-serif;margin:16px}.halo{paint-order:stroke;stroke:#f5f2ea;stroke-width:3px}.mono{font-family:monospace}svg{display:block;margin-bottom:24px}"
	for name, p := range every() {
		html := fmt.Sprintf("<meta charset=utf-8><style>%s svg{width:%.0fpx}</style>%s", css, p.Width, p.SVG("p"))
		if err := os.WriteFile(filepath.Join(dir, name+".html"), []byte(html), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	doc, fonts := document()
	doc.AddPage()
	evidence(3, 12).Draw(694).PDF(doc, fonts, 15, 20, 180)
	load(7).Draw(694).PDF(doc, fonts, 15, 170, 180)
	if err := doc.OutputFileAndClose(filepath.Join(dir, "pictures.pdf")); err != nil {
		t.Fatal(err)
	}
}

func BenchmarkEvidence(b *testing.B) {
	e := evidence(2, 100)
	for b.Loop() {
		_ = e.Draw(694).SVG("p")
	}
}
