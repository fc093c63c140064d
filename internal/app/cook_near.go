package app

import (
	"fmt"

	"pinset/internal/calc/steam"
)

// NearReading is a reading about the target of a cook, in its unit, for one
// tap.
type NearReading struct {
	Says   string // as it would be typed: "14 psi"
	Target bool   // it is the target
}

// near are the readings that are mostly taken of this cook, the lowest first.
// One above the rating is not among them: it is to be typed with care.
func (c cookFacts) near() []NearReading {
	if !c.known {
		return nil
	}
	unit, step, at := gaugeUnit(c.cook.Gauge), 1.0, c.psi
	switch {
	case c.celsius != nil:
		unit, at = "°C", *c.celsius
	case unit == "kPa":
		step, at = 5, c.psi*steam.PascalPerPsi/1000
	case unit == "bar":
		step, at = 0.05, c.psi*steam.PascalPerPsi/1e5
	}
	var out []NearReading
	for i := -2; i <= 1; i++ {
		v := at + float64(i)*step
		if v <= 0 || i > 0 && c.aboveRating(c.psi*v/at) {
			continue
		}
		out = append(out, NearReading{fmt.Sprintf("%.4g %s", v, unit), i == 0})
	}
	return out
}

// aboveRating reports whether psi is more than the nameplate says.
func (c cookFacts) aboveRating(psi float64) bool {
	rated := c.rated()
	return c.celsius == nil && rated != nil && psi > *rated+0.01
}
