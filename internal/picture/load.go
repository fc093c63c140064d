package picture

import (
	"fmt"
	"math"
	"strconv"

	"pinset/internal/figure"
)

// Load is one cooker as it is loaded, a circle for each layer, from above.
type Load struct {
	Name   string
	Layers []LoadLayer // the top first
	Signs  bool        // draw the signs of the arms; a blind sheet has none
}

// LoadLayer is the jars of one layer.
type LoadLayer struct {
	Number int // 1 is the bottom
	Jars   []LoadJar
}

// LoadJar is one jar in the cooker.
type LoadJar struct {
	Number int
	Code   string
	Arm    int // sign, from 0; −1 without
	Blank  bool
}

// Draw returns the load map, wide px wide. Layers stand side by side where
// there is room, else below each other. Only the layer is allotted, so where a
// jar is drawn in it means nothing.
func (l Load) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: "Load of " + l.Name, Desc: l.desc(), Table: l.table()}
	columns := 1
	if wide >= 560 && len(l.Layers) > 1 {
		columns = min(len(l.Layers), 2)
		if wide >= 900 {
			columns = min(len(l.Layers), 3)
		}
	}
	const gap, head, tail = 24.0, 26.0, 30.0
	pot := math.Min((wide-gap*float64(columns-1))/float64(columns), 320)
	for i, layer := range l.Layers {
		x := float64(i%columns) * (pot + gap)
		y := float64(i/columns) * (pot + head + tail)
		l.drawLayer(p, layer, x, y, pot, i)
		p.Height = math.Max(p.Height, y+pot+head+tail)
	}
	return p
}

func (l Load) drawLayer(p *Picture, layer LoadLayer, x, y, pot float64, nth int) {
	name := fmt.Sprintf("Layer %d", layer.Number)
	where := ""
	switch {
	case layer.Number == 1:
		where = "bottom"
	case nth == 0:
		where = "top"
	}
	p.write(x, y+14, name, label{size: 14, ink: Text, bold: true})
	p.write(x+widthOf(name, 14, false)+8, y+14, where, label{size: 14, ink: Soft})
	cx, cy, r := x+pot/2, y+26+pot/2, pot/2-2
	p.circle(cx, cy, r, style{fill: Surface, stroke: Edge, width: 2})
	p.circle(cx, cy, r-7, style{stroke: Line, width: 1})
	p.rect(cx-26, cy+r-2, 52, 18, style{fill: Surface, stroke: Edge, width: 1.5})
	p.write(cx, cy+r+11, "handle", label{size: 12, at: middle, ink: Soft})
	spots, jar := ringSpots(len(layer.Jars), r-9)
	for i, j := range layer.Jars {
		l.drawJar(p, j, cx+spots[i].x, cy+spots[i].y, jar)
	}
}

func (l Load) drawJar(p *Picture, j LoadJar, x, y, r float64) {
	s := style{fill: Ground, stroke: Text, width: 1.5}
	if j.Blank {
		s.dash = Dashed
	}
	p.circle(x, y, r, s)
	big := math.Min(18, r*0.72)
	p.write(x, y+big*0.36, strconv.Itoa(j.Number), label{size: big, at: middle, ink: Text, bold: true})
	if r < 17 {
		return
	}
	small := math.Min(11, r*0.36)
	p.write(x, y+r*0.72, j.Code, label{size: small, at: middle, ink: Soft, mono: true})
	switch {
	case j.Blank:
		p.write(x, y-r*0.48, "blank", label{size: small, at: middle, ink: Soft})
	case l.Signs && j.Arm >= 0:
		p.marker(j.Arm, x-small*0.6, y-r*0.58, small*0.42)
		p.write(x+small*0.15, y-r*0.58+small*0.36, ArmLetter(j.Arm), label{size: small, ink: Text, bold: true})
	}
}

// ringSpots returns n spots in a circle of radius r, in rings from the middle
// out, and the radius of a jar that fits all of them without touching.
func ringSpots(n int, r float64) ([]point, float64) {
	for jar := r; jar > 1; jar *= 0.97 {
		if spots := ringsOf(n, r, jar); spots != nil {
			return spots, math.Min(jar*0.93, 42)
		}
	}
	return make([]point, n), 1
}

// ringsOf places n jars of radius jar in rings, or returns nil if they do not
// fit. A jar stands in the middle where the rings around it leave room.
func ringsOf(n int, r, jar float64) []point {
	if n <= 0 || jar > r {
		return nil
	}
	if n == 1 {
		return []point{{0, 0}}
	}
	var rings []int
	room := 0
	for out := r - jar; ; out -= 2 * jar {
		if out < jar*0.999 { // too near the middle for a ring: one jar at most
			if out > -jar*0.001 || len(rings) > 0 && out+2*jar >= 2*jar*0.999 {
				rings, room = append(rings, 1), room+1
			}
			break
		}
		fit := int(math.Pi/math.Asin(math.Min(1, jar/out)) + 1e-9)
		rings, room = append(rings, fit), room+fit
	}
	if room < n {
		return nil
	}
	var spots []point
	for i, fit := range rings {
		k := min(fit, n-len(spots))
		out := r - jar - 2*jar*float64(i)
		if fit == 1 {
			out = 0
		}
		for a := range k {
			angle := math.Pi/2 + 2*math.Pi*float64(a)/float64(k) // from the handle on
			spots = append(spots, point{out * math.Cos(angle), out * math.Sin(angle)})
		}
	}
	return spots
}

func (l Load) desc() string {
	jars, blanks := 0, 0
	for _, layer := range l.Layers {
		for _, j := range layer.Jars {
			if j.Blank {
				blanks++
			} else {
				jars++
			}
		}
	}
	return fmt.Sprintf("%s seen from above with %s and %s. Where in its layer a jar stands is free.", figure.Counted(len(l.Layers), "layer"), figure.Counted(jars, "jar"), figure.Counted(blanks, "blank"))
}

func (l Load) table() Table {
	t := Table{Head: []string{"Layer", "Jar", "Code", "Arm"}}
	for _, layer := range l.Layers {
		for _, j := range layer.Jars {
			arm := "–"
			switch {
			case j.Blank:
				arm = "blank"
			case l.Signs && j.Arm >= 0:
				arm = ArmLetter(j.Arm)
			}
			t.Rows = append(t.Rows, []string{strconv.Itoa(layer.Number), strconv.Itoa(j.Number), j.Code, arm})
		}
	}
	return t
}
