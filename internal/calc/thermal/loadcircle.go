package thermal

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/figure"
)

// circleRatios is the radius of the smallest circle that holds n circles of
// radius 1, for n from 1 to 20.
//
// Source: the known packings of circles in a circle (proved best to 13 and
// for 19; from memory). Those of 1 to 9, 13, 15 and 18 have closed forms,
// which the tests hold them to.
var circleRatios = [20]float64{
	1, 2, 2.154701, 2.414214, 2.701302, 3, 3, 3.304765, 3.613126, 3.813026,
	3.923804, 4.029602, 4.236068, 4.328429, 4.521357, 4.615426, 4.792034, 4.863703, 4.863703, 5.122321,
}

// RoundsIn returns how many round vessels of a width stand in a round pot of
// a bore, with a gap between them and to the wall; all mm. Above 20 it is a
// hexagonal grid, which some packing may beat by a vessel or two.
func RoundsIn(bore, width, gap float64) int {
	ratio := (bore - gap) / (width + gap)
	if !(ratio >= 1) {
		return 0
	}
	if n := len(circleRatios); ratio < circleRatios[n-1] {
		// The last that fits, for two ratios are met twice.
		i, _ := slices.BinarySearchFunc(circleRatios[:], ratio, func(r, x float64) int {
			if r <= x+1e-6 {
				return -1
			}
			return 1
		})
		return i
	}
	return max(len(circleRatios), hexagonsIn(ratio))
}

// hexagonsIn counts the circles of radius 1 of a hexagonal grid within a
// circle of radius ratio, centred on a circle, between two, or between three.
func hexagonsIn(ratio float64) int {
	most, reach := 0, int(ratio)+2
	height := math.Sqrt(3)
	for _, centre := range [][2]float64{{0, 0}, {1, 0}, {1, height / 3}} {
		n := 0
		for row := -reach; row <= reach; row++ {
			for col := -reach; col <= reach; col++ {
				x, y := 2*float64(col)+float64(row&1)-centre[0], height*float64(row)-centre[1]
				if math.Hypot(x, y)+1 <= ratio+1e-6 {
					n++
				}
			}
		}
		most = max(most, n)
	}
	return most
}

// usualClearance is the gap between vessels where none is given, mm: steam
// has to get between them. Common practice, no source.
const usualClearance = 5.0

// clearance is the gap between vessels, mm.
func (in LoadInput) clearance() float64 {
	if in.ClearanceMM == nil {
		return usualClearance
	}
	return *in.ClearanceMM
}

// perLayerIn returns how many of a container stand in a layer of cooker i:
// as the grower counted, or by the packing of circles.
func (p *loadPlan) perLayerIn(i int, name string) int {
	c := p.in.Cookers[i]
	width, known := p.in.WidthsMM[name]
	counted, isCounted := c.Capacity[name]
	if isCounted || c.BoreMM == nil || !known {
		return counted
	}
	n := RoundsIn(*c.BoreMM, width, p.in.clearance())
	if n > 0 {
		p.packed = append(p.packed, fmt.Sprintf("%d of %s in %s", n, name, c.Name))
	}
	return n
}

// placesSource says where the number of places is from.
func (p *loadPlan) placesSource(i int, name string) string {
	if _, counted := p.in.Cookers[i].Capacity[name]; counted {
		return "as given"
	}
	return "packing of circles in a circle"
}

// tooWide says why a layer of cooker i holds none, "" if no size tells.
func (p *loadPlan) tooWide(i int, name string) string {
	c := p.in.Cookers[i]
	width, known := p.in.WidthsMM[name]
	if _, counted := c.Capacity[name]; counted || c.BoreMM == nil || !known {
		return ""
	}
	return fmt.Sprintf("%g mm wide, it does not go into %s with %g mm and a gap of %g mm", width, c.Name, *c.BoreMM, p.in.clearance())
}

// checkCircles checks the sizes that a packing rests on.
func checkCircles(in LoadInput) error {
	if g := in.ClearanceMM; g != nil && !(*g >= 0 && *g <= 100) {
		return figure.Faultf("clearance_mm", "give the gap between vessels in millimetres, such as 5", "a gap of %g mm is outside 0 to 100 mm", *g)
	}
	for i, c := range in.Cookers {
		if c.BoreMM != nil && !(*c.BoreMM >= 80 && *c.BoreMM <= 2000) {
			return figure.Faultf(fmt.Sprintf("cookers[%d].bore_mm", i), "measure the inside of the pot in millimetres", "a bore of %g mm is outside 80 to 2000 mm", *c.BoreMM)
		}
	}
	return nil
}
