package thermal

import (
	"fmt"
	"math"

	"pinset/internal/figure"
)

// The film of steam outside a wall, W/m2K. Steam that is free of air gives
// 8 000 to 21 000 (Nusselt, on a 10 cm jar wall); a few per cent of air leave
// 200 to 2 000. The wall, not the film, is what holds the heat up.
var steamFilm = [3]float64{500, 3000, 8000}

// filmBelow is the film under a jar on a rack, where air and condensate lie in
// the hollow of the base, W/m2K. An assumption, no source.
var filmBelow = [3]float64{50, 75, 300}

// benchFilm is the film of still air with radiation around a jar on a bench,
// W/m2K: 9 to 14 from 30 to 100 °C (Churchill and Chu, emissivity 0.9), less
// where jars stand close together. benchFilms are for the range of hours.
const benchFilm = 10.0

var benchFilms = [2]float64{8, 12}

// usualResistance is the share of an overall coefficient that film and wall
// have, m2K/W: what is above it is a gap, and the gap stays on the bench.
const usualResistance = 1.0 / 250

// walls is the ways from the surroundings to the substrate.
type walls struct {
	steam Faces
	gap   Faces // resistances that stay in air, m2K/W: wall and headspace
}

// air returns the overall coefficients on the bench with a film of h.
func (w walls) air(h float64) Faces {
	return Faces{Side: 1 / (1/h + w.gap.Side), Top: 1 / (1/h + w.gap.Top), Base: 1 / (1/h + w.gap.Base)}
}

// times returns the coefficients multiplied.
func (f Faces) times(factor float64) Faces {
	return Faces{Side: f.Side * factor, Top: f.Top * factor, Base: f.Base * factor}
}

// newWalls returns the ways of heat for low, best and high.
func newWalls(in jarInput) ([3]walls, error) {
	if in.wall.u != nil {
		w, err := overall(in.wall)
		return [3]walls{w, w, w}, err
	}
	if err := checkWall(in.wall); err != nil {
		return [3]walls{}, err
	}
	usual := materials[in.container.material()]
	thick, conductivity := usual.thickness, usual.conductivity
	if in.wall.wallMM != nil {
		thick = *in.wall.wallMM
	}
	if in.wall.wallWMK != nil {
		conductivity = *in.wall.wallWMK
	}
	var out [3]walls
	for i := range out {
		film, below := steamFilm[i], filmBelow[i]
		if in.wall.filmWM2K != nil {
			film = *in.wall.filmWM2K
			below = min(below, film)
		}
		out[i] = layered(in, i, thick/1000/conductivity, film, below)
	}
	return out, nil
}

// overall takes the coefficients as given.
func overall(in wallInput) (walls, error) {
	for _, c := range []struct {
		field string
		value float64
	}{{"u_w_m2k.side", in.u.Side}, {"u_w_m2k.top", in.u.Top}, {"u_w_m2k.base", in.u.Base}} {
		if !(c.value >= 0.5 && c.value <= 50000) {
			return walls{}, figure.Faultf(c.field, "give 100 to 350 through glass, about 5 through a still headspace", "%g W/m2K is outside 0.5 to 50000", c.value)
		}
	}
	if in.wallMM != nil || in.wallWMK != nil || in.filmWM2K != nil {
		return walls{}, figure.Faultf("u_w_m2k", "give either u_w_m2k, or wall_mm, wall_w_mk, film_w_m2k and lid", "u_w_m2k has the wall and the film in it already")
	}
	gap := func(u float64) float64 { return max(1/u-usualResistance, 0) }
	return walls{steam: *in.u, gap: Faces{Side: gap(in.u.Side), Top: gap(in.u.Top), Base: gap(in.u.Base)}}, nil
}

// checkWall checks the parts of a wall.
func checkWall(in wallInput) error {
	for _, f := range []struct {
		field, mend string
		value       *float64
		least, most float64
	}{
		{"wall_mm", "measure the wall in millimetres: glass is about 3", in.wallMM, 0.02, 20},
		{"wall_w_mk", "give 1.0 for glass, 0.2 for polypropylene", in.wallWMK, 0.05, 400},
		{"film_w_m2k", "give 500 to 8000 for steam, or leave it out", in.filmWM2K, 5, 50000},
	} {
		if f.value != nil && !(*f.value >= f.least && *f.value <= f.most) {
			return figure.Faultf(f.field, f.mend, "%g is outside %g to %g", *f.value, f.least, f.most)
		}
	}
	switch in.lid {
	case "", "vented", "wet", "tight":
		return nil
	}
	return figure.Faultf("lid", "write wet (steam reaches the substrate), vented (a hole or filter) or tight", "the lid %q is not known", in.lid)
}

// layered adds film, wall, base and headspace in a row: 1/U = 1/h + x/k.
func layered(in jarInput, run int, wall, film, below float64) walls {
	gap := in.container.headspace()
	head := headspaceCoefficient(in.wall.lid, gap, run, film)
	return walls{
		steam: Faces{Side: 1 / (1/film + wall), Top: 1 / (1/film + 1/head), Base: 1 / (1/below + wall)},
		gap:   Faces{Side: wall, Top: 1 / headspaceCoefficient(in.wall.lid, gap, best, film), Base: wall},
	}
}

// headspace is the gap above the substrate in metres.
func (c Container) headspace() float64 {
	if c.HeadspaceMM == nil {
		return 0.025
	}
	return *c.HeadspaceMM / 1000
}

// headspaceCoefficient is how the space under a lid passes heat down, W/m2K.
//
// Tight: still air, for the warm lid is above, k/gap with moist air of 0.03
// W/mK, and radiation between lid and substrate, 4 e sigma T^3 with a mutual
// emissivity of 0.35 near 363 K. Vented: steam drifts in through hole or
// filter, three times that. Wet: steam reaches the substrate and condenses on
// it. The emissivity, the three times, and the bounds are assumptions, no
// source: calibrate with a logger.
func headspaceCoefficient(lid string, gap float64, run int, film float64) float64 {
	const (
		moistAir  = 0.03 // W/mK near 100 °C
		radiation = 4 * 0.35 * 5.670374e-8 * 363 * 363 * 363
	)
	still := moistAir/math.Max(gap, 0.001) + radiation
	switch lid {
	case "wet":
		return min([3]float64{50, 200, 2000}[run], film)
	case "tight":
		return still * [3]float64{0.7, 1, 1.5}[run]
	}
	return still * [3]float64{1, 3, 10}[run]
}

// describe says in words what the faces rest on.
func (in wallInput) describe() string {
	if in.u != nil {
		return "overall coefficients as given"
	}
	lid := in.lid
	if lid == "" {
		lid = "vented"
	}
	return fmt.Sprintf("1/U = 1/film + wall/k, a film on the rack below, a %s headspace above", lid)
}
