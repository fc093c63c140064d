package picture

import (
	"strings"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
)

// Fonts names the fonts of a document that pictures write with.
type Fonts struct {
	Sans string // with styles "" and "B"
	Mono string
}

// PDF draws the picture into a document whose unit is the millimetre, its top
// left corner at x, y, scaled to be wide mm wide. It uses the inks of the
// light theme.
func (p *Picture) PDF(doc *fpdf.Fpdf, fonts Fonts, x, y, wide float64) {
	pen := &pen{doc: doc, fonts: fonts, x: x, y: y, mm: wide / p.Width}
	doc.SetLineCapStyle("round")
	doc.SetLineJoinStyle("round")
	for i := range p.marks {
		m := &p.marks[i]
		if m.stamp == 0 {
			pen.draw(m)
			continue
		}
		there := *pen
		there.x, there.y = pen.px(point{m.x, m.y})
		for k := range p.stamps[m.stamp-1].marks {
			there.draw(&p.stamps[m.stamp-1].marks[k])
		}
	}
	doc.SetAlpha(1, "Normal")
	doc.SetDashPattern(nil, 0)
}

// pen draws marks at a place of a page.
type pen struct {
	doc   *fpdf.Fpdf
	fonts Fonts
	x, y  float64 // of the picture's corner, mm
	mm    float64 // per pixel
}

func (n *pen) draw(m *mark) {
	alpha := 1.0
	if m.opacity > 0 {
		alpha = m.opacity
	}
	n.doc.SetAlpha(alpha, "Normal")
	if m.text != "" {
		n.write(m)
		return
	}
	for _, s := range m.path {
		q := s.points
		switch s.op {
		case 'M':
			n.doc.MoveTo(n.px(q[0]))
		case 'L':
			n.doc.LineTo(n.px(q[0]))
		case 'C':
			x1, y1 := n.px(q[0])
			x2, y2 := n.px(q[1])
			x3, y3 := n.px(q[2])
			n.doc.CurveBezierCubicTo(x1, y1, x2, y2, x3, y3)
		case 'Z':
			n.doc.ClosePath()
		}
	}
	n.doc.DrawPath(n.style(m))
}

// style sets colours and pen for m and returns the PDF operator to draw with.
func (n *pen) style(m *mark) string {
	how := ""
	if m.fill != NoInk {
		c := light[m.fill]
		n.doc.SetFillColor(c.r, c.g, c.b)
		how = "F"
	}
	if m.stroke != NoInk {
		c := light[m.stroke]
		n.doc.SetDrawColor(c.r, c.g, c.b)
		n.doc.SetLineWidth(m.width * n.mm)
		n.doc.SetDashPattern(n.dashes(m.dash), 0)
		how += "D"
	}
	return how
}

func (n *pen) dashes(d Dash) []float64 {
	switch d {
	case Dashed:
		return []float64{5 * n.mm, 4 * n.mm}
	case Dotted:
		return []float64{1.5 * n.mm, 3.5 * n.mm}
	}
	return []float64{}
}

func (n *pen) write(m *mark) {
	family, weight := n.fonts.Sans, ""
	if m.mono {
		family = n.fonts.Mono
	} else if m.bold {
		weight = "B"
	}
	n.doc.SetFont(family, weight, m.size*n.mm*72/25.4)
	wide := n.doc.GetStringWidth(m.text)
	x, y := n.px(point{m.x, m.y})
	switch m.at {
	case middle:
		x -= wide / 2
	case end:
		x -= wide
	}
	if m.halo {
		n.doc.SetFillColor(255, 255, 255)
		n.doc.Rect(x-0.3, y-m.size*n.mm*0.82, wide+0.6, m.size*n.mm*1.05, "F")
	}
	c := light[m.fill]
	n.doc.SetTextColor(c.r, c.g, c.b)
	n.doc.Text(x, y, strings.ToValidUTF8(m.text, "�"))
}

func (n *pen) px(q point) (x, y float64) { return n.x + q.x*n.mm, n.y + q.y*n.mm }

// Printable replaces letters that DejaVu Sans can not hold by a box, so that
// the rest of a name is still printed.
func Printable(text string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xffff || unicode.IsControl(r) || r == unicode.ReplacementChar || unicode.In(r, foreign...) {
			return '□'
		}
		return r
	}, text)
}

// foreign are the common scripts that DejaVu Sans lacks.
var foreign = []*unicode.RangeTable{unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul, unicode.Thai, unicode.Devanagari, unicode.Bengali, unicode.Tamil}
