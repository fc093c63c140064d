// Package picture draws Pinset's pictures. A picture is a list of marks,
// drawn once, and written as SVG for a page or into a PDF for paper. Each has
// a title, a description that tells the finding, and a table that holds every
// figure that is drawn.
//
// Lengths are CSS pixels; 1 px is 0.75 pt on paper. Colours are names of the
// page's own tokens, so that a theme changes them; paper uses the light ones.
package picture

import "math"

// Picture is a finished drawing.
type Picture struct {
	Width, Height float64
	Title         string
	Desc          string // the finding, for those who can not see it
	Table         Table

	marks  []mark
	stamps []stamp
}

// stamp is a small drawing about the origin that is set many times.
type stamp struct {
	key   any
	marks []mark
}

// Table is the text equivalent of a picture.
type Table struct {
	Head []string
	Rows [][]string
}

// Ink names a colour of the page.
type Ink string

// The inks. Arm inks are for marks of arms only, and never without shape and
// letter.
const (
	NoInk   Ink = ""
	Text    Ink = "ink"
	Soft    Ink = "soft"
	Line    Ink = "line"
	Edge    Ink = "edge"
	Ground  Ink = "bg"
	Surface Ink = "surface"
	Sunken  Ink = "sunken"
	Go      Ink = "go"
	Due     Ink = "due-mark"
	DueSoft Ink = "due-soft"
	Stop    Ink = "stop"
	Grain   Ink = "grain"
	Cover   Ink = "cover"
	Glass   Ink = "glass"
	Crop    Ink = "crop"
	Mat     Ink = "mat"
)

// MaxArms is how many arms can be told apart by shape and colour.
const MaxArms = 6

// ArmInk returns the ink of arm i from 0; beyond the sixth they repeat.
func ArmInk(i int) Ink { return Ink("arm-" + string(rune('a'+i%MaxArms))) }

// ArmLetter returns A for arm 0.
func ArmLetter(i int) string { return string(rune('A' + i%26)) }

// Dash is the pattern of a stroke.
type Dash string

// The dashes.
const (
	Solid  Dash = ""
	Dashed Dash = "5 4"
	Dotted Dash = "1.5 3.5"
)

// style is how a mark is drawn.
type style struct {
	fill    Ink
	stroke  Ink
	width   float64
	dash    Dash
	opacity float64 // 0 is opaque
}

// anchor says which point of a text its position is.
type anchor string

const (
	start  anchor = "start"
	middle anchor = "middle"
	end    anchor = "end"
)

// mark is one thing drawn: a stamp if stamp is not 0, an outline if segments
// are set, else a text.
type mark struct {
	style
	stamp int // 1 is the first; set with its origin at x, y
	path  []segment
	text  string
	x, y  float64 // of a text: its anchor on the base line
	size  float64
	at    anchor
	bold  bool
	mono  bool
	halo  bool   // a rim of the ground's colour, where text meets lines
	link  string // of this mark and the group-1 after it
	says  string // what the link leads to, for those who can not see it
	group int
}

// segment is one step of an outline: move, line, curve or close.
type segment struct {
	op     byte // 'M', 'L', 'C' or 'Z'
	points [3]point
}

type point struct{ x, y float64 }

func (p *Picture) add(m mark) { p.marks = append(p.marks, m) }

// set draws the stamp of key at x, y. The first time, draw makes it: about
// the origin, on a sheet of its own.
func (p *Picture) set(x, y float64, key any, draw func(*Picture)) {
	for i := range p.stamps {
		if p.stamps[i].key == key {
			p.add(mark{stamp: i + 1, x: x, y: y})
			return
		}
	}
	sheet := &Picture{}
	draw(sheet)
	p.stamps = append(p.stamps, stamp{key, sheet.marks})
	p.add(mark{stamp: len(p.stamps), x: x, y: y})
}

func (p *Picture) line(x1, y1, x2, y2 float64, ink Ink, width float64, dash Dash) {
	p.add(mark{style: style{stroke: ink, width: width, dash: dash}, path: []segment{moveTo(x1, y1), lineTo(x2, y2)}})
}

func (p *Picture) rect(x, y, w, h float64, s style) {
	p.add(mark{style: s, path: []segment{moveTo(x, y), lineTo(x+w, y), lineTo(x+w, y+h), lineTo(x, y+h), closed()}})
}

func (p *Picture) circle(x, y, r float64, s style) {
	const k = 0.5522847498 // control points of a quarter circle
	p.add(mark{style: s, path: []segment{
		moveTo(x+r, y),
		curveTo(x+r, y+k*r, x+k*r, y+r, x, y+r),
		curveTo(x-k*r, y+r, x-r, y+k*r, x-r, y),
		curveTo(x-r, y-k*r, x-k*r, y-r, x, y-r),
		curveTo(x+k*r, y-r, x+r, y-k*r, x+r, y),
		closed(),
	}})
}

// polygon draws an outline through points; it is closed if s fills.
func (p *Picture) polygon(points []point, s style) {
	path := make([]segment, 0, len(points)+1)
	for i, q := range points {
		if i == 0 {
			path = append(path, moveTo(q.x, q.y))
		} else {
			path = append(path, lineTo(q.x, q.y))
		}
	}
	if s.fill != NoInk {
		path = append(path, closed())
	}
	p.add(mark{style: s, path: path})
}

// label is how a text is set.
type label struct {
	size float64
	at   anchor
	ink  Ink
	bold bool
	mono bool
	halo bool
}

func (p *Picture) write(x, y float64, text string, l label) {
	p.add(mark{
		style: style{fill: l.ink}, text: text, x: x, y: y, size: l.size, at: l.at, bold: l.bold, mono: l.mono, halo: l.halo,
	})
}

func moveTo(x, y float64) segment { return segment{op: 'M', points: [3]point{{x, y}}} }
func lineTo(x, y float64) segment { return segment{op: 'L', points: [3]point{{x, y}}} }
func closed() segment             { return segment{op: 'Z'} }

func curveTo(x1, y1, x2, y2, x, y float64) segment {
	return segment{op: 'C', points: [3]point{{x1, y1}, {x2, y2}, {x, y}}}
}

// marker draws the sign of arm i at x, y: circle, square, triangle, diamond,
// cross, hourglass, all of about the area of a circle of radius r.
func (p *Picture) marker(i int, x, y, r float64) {
	ink := ArmInk(i)
	s := style{fill: ink}
	switch i % MaxArms {
	case 0:
		p.circle(x, y, r, s)
	case 1:
		h := r * 0.89
		p.rect(x-h, y-h, 2*h, 2*h, s)
	case 2:
		p.polygon([]point{{x, y - 1.35*r}, {x + 1.17*r, y + 0.68*r}, {x - 1.17*r, y + 0.68*r}}, s)
	case 3:
		h := 1.25 * r
		p.polygon([]point{{x, y - h}, {x + h, y}, {x, y + h}, {x - h, y}}, s)
	case 4:
		h, w := 1.1*r, 0.42*r
		p.polygon([]point{{x - w, y - h}, {x + w, y - h}, {x + w, y - w}, {x + h, y - w}, {x + h, y + w}, {x + w, y + w}, {x + w, y + h}, {x - w, y + h}, {x - w, y + w}, {x - h, y + w}, {x - h, y - w}, {x - w, y - w}}, s)
	default:
		h := 1.2 * r
		p.polygon([]point{{x - h, y - h}, {x + h, y - h}, {x - h, y + h}, {x + h, y + h}}, s)
	}
}

// cross draws the sign of a lost jar.
func (p *Picture) cross(x, y, r float64, ink Ink) {
	p.line(x-r, y-r, x+r, y+r, ink, 1.75, Solid)
	p.line(x-r, y+r, x+r, y-r, ink, 1.75, Solid)
}

// widthOf estimates how wide text is at size, on the wide side: pages choose
// their own font.
func widthOf(text string, size float64, mono bool) float64 {
	w := 0.0
	for _, r := range text {
		switch {
		case mono:
			w += 0.62
		case r > 0x2e80: // wide scripts
			w += 1.05
		case r == 'i' || r == 'l' || r == 'j' || r == '.' || r == ',' || r == '·' || r == ' ' || r == 't' || r == 'f' || r == 'I':
			w += 0.34
		case r == 'm' || r == 'w' || r == 'M' || r == 'W':
			w += 0.9
		default:
			w += 0.58
		}
	}
	return w * size
}

// fit cuts text with an ellipsis so that it is at most wide.
func fit(text string, size, wide float64) string {
	if widthOf(text, size, false) <= wide {
		return text
	}
	runes := []rune(text)
	for n := len(runes) - 1; n > 0; n-- {
		if cut := string(runes[:n]) + "…"; widthOf(cut, size, false) <= wide {
			return cut
		}
	}
	return "…"
}

// scale maps values to lengths along an axis.
type scale struct {
	low, high float64 // values at the ends
	from, to  float64 // where the ends are drawn
}

func (s scale) at(v float64) float64 {
	return s.from + (v-s.low)/(s.high-s.low)*(s.to-s.from)
}

// nice returns a scale over all values with round steps, about so many.
func nice(low, high float64, steps int) (from, to, step float64) {
	if !(high > low) {
		high = low + 1
	}
	raw := (high - low) / float64(max(1, steps))
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	step = power
	for _, k := range []float64{1, 2, 2.5, 5, 10} {
		if k*power >= raw*0.999 {
			step = k * power
			break
		}
	}
	return math.Floor(low/step+1e-9) * step, math.Ceil(high/step-1e-9) * step, step
}
