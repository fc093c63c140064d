package picture

import "math"

// plane is a field of days across and per cent up.
type plane struct {
	x, y scale
}

// newPlane draws the axes of a field that reaches to a day, tall px high, with
// a line at every quarter.
func newPlane(p *Picture, day, tall float64) plane {
	const top, left = 12.0, 48.0
	from, to, step := nice(0, math.Max(day, 1), 6)
	a := plane{scale{from, to, left, p.Width - 14}, scale{0, 100, top + tall, top}}
	for v := 0.0; v <= 100; v += 25 {
		ink := Line
		if v == 0 {
			ink = Edge
		}
		p.line(left, a.y.at(v), p.Width-8, a.y.at(v), ink, 1, Solid)
		p.write(left-6, a.y.at(v)+4.5, short(v)+" %", label{size: 12, at: end, ink: Soft})
	}
	for v := from; v <= to+step/2; v += step {
		p.line(a.x.at(v), a.y.from, a.x.at(v), a.y.from+4, Edge, 1, Solid)
		p.write(a.x.at(v), a.y.from+18, short(v), label{size: 12, at: middle, ink: Soft})
	}
	p.write(p.Width-8, a.y.from+35, "days from inoculation", label{size: 12, at: end, ink: Soft})
	p.Height = a.y.from + 42
	return a
}

// sign draws the sign of an arm where it stands many times.
func (p *Picture) sign(arm int, x, y, r float64) {
	p.set(x, y, arm, func(sheet *Picture) { sheet.marker(arm, 0, 0, r) })
}

// armDash tells lines of arms apart without colour.
func armDash(sign int) Dash { return []Dash{Solid, Dashed, Dotted}[sign%3] }

// keyed is an arm in the key below a picture.
type keyed struct {
	name, note string
	sign       int
}

// lettered reports whether so many arms share signs, so that letters have to
// tell them apart.
func lettered(arms int) bool { return arms > MaxArms }

// key writes what the signs of arms stand for, a row each, below the picture; a
// name that has no room beside its note stands above it.
func (p *Picture) key(arms []keyed) {
	const row = 22.0
	y := p.Height + 14
	for _, a := range arms {
		p.line(10, y-4.5, 34, y-4.5, ArmInk(a.sign), 2.25, armDash(a.sign))
		p.marker(a.sign, 22, y-4.5, 5)
		at := 44.0
		if lettered(len(arms)) {
			p.write(at, y, ArmLetter(a.sign), label{size: 13, ink: Text, bold: true})
			at += 18
		}
		p.write(at, y, fit(a.name, 13, p.Width-at-8), label{size: 13, ink: Text})
		if widthOf(a.name, 13, false) > p.Width-at-widthOf(a.note, 12, false)-24 {
			y += row - 5
		}
		p.write(p.Width-8, y, a.note, label{size: 12, at: end, ink: Soft})
		y += row
	}
	p.Height = y - row + 10
}
