package picture

import "math"

// Look is how a jar looks from the side.
type Look struct {
	State State
	Cover float64 // share of the cake's depth that is covered, 0..1
	Late  bool    // a triangle at the lid
	Ready bool    // a ring with a tick at the lid
}

// State is the furthest thing that is to be seen on a jar.
type State string

// The states, each told by texture and shape as well as by colour.
const (
	Bare     State = "bare"     // grain: dots
	Given    State = "given"    // a drop over the grain
	Covering State = "covering" // white from the top down, as far as Cover
	Coloured State = "coloured" // upright lines
	Pinned   State = "pinned"   // five short strokes on the cake
	Fruiting State = "fruiting" // tall strokes with heads
	Taken    State = "taken"    // no lid, dashed cake
	Gone     State = "gone"     // faded, with a cross over it
	Blank    State = "blank"    // a dash in the headspace
)

// Vessel is the shape of a jar in millimetres.
type Vessel struct {
	Bore, Height, Fill float64
}

// usualVessel stands in where nothing was measured.
var usualVessel = Vessel{Bore: 80, Height: 110, Fill: 28}

func (v Vessel) orUsual() Vessel {
	if !(v.Bore > 0 && v.Height > 0) {
		return usualVessel
	}
	if !(v.Fill > 0) || v.Fill > v.Height*0.9 {
		v.Fill = v.Height * 0.26
	}
	return v
}

// drawJar draws a jar standing on y, its middle at x, at px per millimetre.
// It returns the jar's height in px.
func (p *Picture) drawJar(x, y, px float64, v Vessel, look Look) float64 {
	v = v.orUsual()
	w, h := v.Bore*px/2, v.Height*px
	lid := math.Max(3, 9*px)
	glass := style{stroke: Glass, width: 1.5}
	if look.State == Gone {
		glass.opacity = 0.5
	}
	p.drawCake(x, y, px, v, look)
	neck := w * 0.78
	shoulder := y - h + lid + h*0.16
	p.add(mark{style: glass, path: []segment{
		moveTo(x-neck, y-h+lid), curveTo(x-neck, shoulder-h*0.06, x-w, shoulder-h*0.05, x-w, shoulder), lineTo(x-w, y-3),
		curveTo(x-w, y, x-w, y, x-w+3, y), lineTo(x+w-3, y), curveTo(x+w, y, x+w, y, x+w, y-3), lineTo(x+w, shoulder),
		curveTo(x+w, shoulder-h*0.05, x+neck, shoulder-h*0.06, x+neck, y-h+lid),
	}})
	if look.State != Taken {
		p.rect(x-neck-1, y-h, 2*neck+2, lid, style{fill: Glass, opacity: glass.opacity})
	}
	p.drawSigns(x, y, w, h, look)
	return h
}

// drawCake draws what fills the jar.
func (p *Picture) drawCake(x, y, px float64, v Vessel, look Look) {
	w, d := v.Bore*px/2-2, v.Fill*px
	top := y - 1.5 - d
	switch look.State {
	case Taken:
		p.rect(x-w, top, 2*w, d, style{stroke: Glass, width: 1, dash: Dashed})
		return
	case Gone:
		p.rect(x-w, top, 2*w, d, style{fill: Grain, opacity: 0.35})
		return
	}
	p.rect(x-w, top, 2*w, d, style{fill: Grain})
	cover := look.Cover
	switch look.State {
	case Coloured, Pinned, Fruiting:
		p.rect(x-w, top, 2*w, d, style{fill: Mat})
		for i := range 5 {
			at := x - w + 2*w*(float64(i)+0.5)/5
			p.line(at, top+2, at, y-3, Crop, 1, Solid)
		}
		p.drawFruit(x, top, w, px, look.State)
		return
	case Covering:
		p.rect(x-w, top, 2*w, d*math.Max(0.15, math.Min(1, cover)), style{fill: Cover, stroke: Glass, width: 0.75})
	}
	if look.State != Covering || cover < 0.8 {
		p.drawGrain(x, y, w, d)
	}
	if look.State == Given {
		r := math.Max(1.6, 4*px)
		p.add(mark{style: style{fill: Go}, path: []segment{
			moveTo(x, top-4*r), curveTo(x+0.3*r, top-3*r, x+r, top-2.6*r, x+r, top-1.8*r), curveTo(x+r, top-1.2*r, x+0.55*r, top-0.8*r, x, top-0.8*r),
			curveTo(x-0.55*r, top-0.8*r, x-r, top-1.2*r, x-r, top-1.8*r), curveTo(x-r, top-2.6*r, x-0.3*r, top-3*r, x, top-4*r), closed(),
		}})
	}
}

// drawGrain dots the lower part of the cake.
func (p *Picture) drawGrain(x, y, w, d float64) {
	for row := range 2 {
		for i := range 4 {
			at := x - w + 2*w*(float64(i)+0.5+0.25*float64(row))/4.5
			p.circle(at, y-3-d*(0.14+0.28*float64(row)), 1.1, style{fill: Text, opacity: 0.6})
		}
	}
}

func (p *Picture) drawFruit(x, top, w, px float64, s State) {
	tall := map[State]float64{Pinned: 8 * px, Fruiting: 34 * px}[s]
	if tall == 0 {
		return
	}
	for i := range 5 {
		at := x - w*0.8 + 1.6*w*float64(i)/4
		lean := (float64(i) - 2) * 0.3
		p.line(at, top, at+lean, top-math.Max(3, tall*(1-0.12*math.Abs(float64(i)-2))), Crop, math.Max(1.5, 3*px), Solid)
		if s == Fruiting {
			p.circle(at+lean, top-tall*(1-0.12*math.Abs(float64(i)-2)), math.Max(1.8, 3.4*px), style{fill: Crop})
		}
	}
}

// drawSigns draws what stands beside or over the jar.
func (p *Picture) drawSigns(x, y, w, h float64, look Look) {
	switch look.State {
	case Gone:
		p.cross(x, y-h*0.45, w*0.7, Text)
	case Blank:
		p.line(x-w*0.35, y-h*0.62, x+w*0.35, y-h*0.62, Text, 2.5, Solid)
	}
	sx, sy := x+w*0.95, y-h+2
	switch {
	case look.Late:
		p.polygon([]point{{sx, sy - 8}, {sx + 8, sy + 6}, {sx - 8, sy + 6}}, style{fill: Due, stroke: Ground, width: 1})
		p.write(sx, sy+4.5, "!", label{size: 10, at: middle, ink: Ground, bold: true})
	case look.Ready:
		p.circle(sx, sy, 7, style{fill: Go, stroke: Ground, width: 1})
		p.polygon([]point{{sx - 3, sy}, {sx - 0.8, sy + 2.6}, {sx + 3.4, sy - 2.6}}, style{stroke: Ground, width: 1.75})
	}
}
