package thermal

import (
	"fmt"
	"math"

	"pinset/internal/figure"
)

// A liquid in a bottle stirs itself as it warms. It is reckoned as even all
// through, with one more film inside the wall, and steps through the solver
// as a body that conducts so well that it has no inside.

// stirred is the conductivity of such a body, W/mK: with 400 W/m2K around a
// litre its inside is even to 1 % of the difference to the outside.
const stirred = 2000.0

// filmInside is the film of the liquid at the wall, W/m2K. Free convection in
// liquids is 50 to 1000 (textbook tables after Cengel). Churchill and Chu give
// 470 to 960 for a wall of 10 cm in water of 80 °C that is 1 to 10 K colder.
// The low one leaves room for layers, for sugar and for agar; that it is
// enough is an assumption, no source.
var filmInside = [3]float64{low: 100, best: 400, high: 1000}

// coldestInBottle is where a bottle is coldest, as a share of the height of
// the liquid: studies of canned liquids find 0.1 to 0.15 (from memory). The
// model has no such place; a probe belongs there.
const coldestInBottle = 0.15

// leastWater is how wet a liquid is, % of its mass.
const leastWater = 85.0

// liquid tells whether the contents are stirred.
func (in jarInput) liquid() bool { return in.mode == "liquid" }

// newLiquid returns the contents of a bottle, and what keeps them from being
// reckoned as stirred.
func newLiquid(s Substrate) (*medium, error) {
	for _, f := range []struct {
		field string
		value *float64
	}{
		{"substrate.conductivity_w_mk", s.ConductivityWMK},
		{"substrate.diffusivity_m2_s", s.DiffusivityM2S},
		{"substrate.spread_pct", s.SpreadPct},
		{"substrate.multiplier", s.Multiplier},
	} {
		if f.value != nil {
			return nil, figure.Faultf(f.field, "leave it out; from a calibration take container.surface_factor", "a liquid stirs itself, and conducting %g plays no part", *f.value)
		}
	}
	x := Composition{Water: 1}
	if s.MoisturePct != nil {
		if !(*s.MoisturePct >= leastWater) {
			return nil, figure.Faultf("substrate.moisture_pct", "write cake as the mode: what does not run does not stir itself", "%g %% of water is no liquid", *s.MoisturePct)
		}
		x = WetGrain(*s.MoisturePct / 100)
	}
	cold, err := PropertiesAt(x, 20)
	if err != nil {
		return nil, err
	}
	density := cold.Density
	if s.DensityKgM3 != nil {
		density = *s.DensityKgM3
	}
	return newMedium(
		func(float64) (float64, error) { return stirred, nil },
		func(t float64) (float64, error) { // the mass stays, whatever the volume does
			p, err := PropertiesAt(x, t)
			return density * p.Heat, err
		},
	)
}

// wetted adds the film inside to the walls of a bottle. The surface of the
// liquid takes what the headspace brings.
func (w walls) wetted(film float64) walls {
	inside := func(u float64) float64 { return 1 / (1/u + 1/film) }
	w.steam.Side, w.steam.Base = inside(w.steam.Side), inside(w.steam.Base)
	w.gap.Side, w.gap.Base = w.gap.Side+1/film, w.gap.Base+1/film
	return w
}

// cutLiquid cuts a bottle into a few cells, since all are alike.
func cutLiquid(c Container) *body {
	const few = 6
	bore, fill := c.BoreMM/1000, c.FillMM/1000
	if c.Shape != "block" {
		return newCylinder(bore/2, fill, few, few)
	}
	depth := bore
	if c.DepthMM != nil {
		depth = *c.DepthMM / 1000
	}
	return newBlock(bore, depth, fill, few, few, few)
}

// litres is what the container holds as filled.
func (c Container) litres() float64 {
	b := cutLiquid(c)
	if c.Shape == "block" {
		return 4000 * b.totalVolume() // a quarter is cut
	}
	return 2000 * math.Pi * b.totalVolume() // the angle is left out
}

// liquidCautions speaks of bottles.
func liquidCautions(in jarInput, fast bool) []figure.Caution {
	out := []figure.Caution{}
	add := func(code, title, text string, w figure.Weight) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
	}
	boil := figure.Care
	if fast {
		boil = figure.Stop
	}
	add("boil_over", "Liquids boil over", "A bottle stays above boiling long after the gauge is at zero, and boils over at once if the pot is vented or the bottle knocked. Let it cool closed to below 80 °C, cap loose, and take it out with gloves and a shield for the face.", boil)
	add("liquid", "A liquid reckoned as stirred", fmt.Sprintf("One temperature all through, with a film of %g to %g W/m2K inside the wall: no measured bottle stands behind it. Put a logger into a bottle of the same size, low, about %.0f mm above the bottom.",
		filmInside[low], filmInside[high], coldestInBottle*in.container.FillMM), figure.Care)
	add("gel", "A gel does not stir itself", "Agar that has set conducts like a cake until it melts near 85 °C. Cook it melted, or count it as a cake.", figure.Note)
	if litres := in.container.litres(); litres > 2 {
		add("big_bottle", "A big bottle", fmt.Sprintf("%.1f L lie in layers, hot over cold, and lag behind this. Part them into bottles of up to 1 L.", litres), figure.Care)
	}
	if h := in.container.HeadspaceMM; h != nil && *h < in.container.FillMM/3 {
		add("too_full", "Too full", fmt.Sprintf("%g mm of liquid under %g mm of air: fill to three quarters at most, for it expands and foams.", in.container.FillMM, *h), figure.Care)
	}
	return out
}
