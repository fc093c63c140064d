package app

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/thermal"
	"pinset/internal/lab"
)

// fitReach is how far the height of a fill may be from the one that was
// fitted, as a share, for the fit to be used.
const fitReach = 0.15

// ownFits is what the fits of a kind of jar come to.
type ownFits struct {
	newest *lab.Calibration // nil if there is none
	cooks  int              // that the fits of its kind come from
	pool   *thermal.FitPool // of the conductivity, from thermal.LeastFits cooks on
	lower  float64          // the usual doubt of the conductivity, as shares
	higher float64
}

// narrows reports whether the spread of the fits is less than the usual doubt.
func (o ownFits) narrows() bool {
	return o.pool != nil && o.pool.SpreadPct < 100*min(o.lower, o.higher)
}

// matchFits gives each kind of jar the fits of its container and recipe at
// about its height: the newest, or from thermal.LeastFits cooks on what they
// come to together. Only a spread below the usual doubt takes its place.
func (c *cookFacts) matchFits() {
	for i := range c.vessels {
		v := &c.vessels[i]
		v.container.Surface, v.substrate.Multiplier, v.substrate.SpreadPct = nil, nil, nil
		v.fits = c.ownFits(*v)
		switch o := v.fits; {
		case o.newest == nil:
		case o.newest.Fit.What == "surface":
			v.container.Surface = &o.newest.Fit.Factor
		case o.pool == nil:
			v.substrate.Multiplier = &o.newest.Fit.Factor
		default:
			v.substrate.Multiplier = &o.pool.Factor
			if o.narrows() {
				v.substrate.SpreadPct = &o.pool.SpreadPct
			}
		}
	}
}

// ownFits gathers the fits that match v and are of the kind of the newest.
func (c *cookFacts) ownFits(v CookVessel) ownFits {
	var out ownFits
	matches := func(x lab.Calibration) bool {
		return x.Container == v.kind.container && lab.NameKey(x.Fit.Mix) == lab.NameKey(v.Recipe) && math.Abs(x.Fit.FillMM-v.FillMM) <= fitReach*x.Fit.FillMM
	}
	for i := range c.fits {
		if matches(c.fits[i]) {
			out.newest = &c.fits[i]
		}
	}
	if out.newest == nil {
		return out
	}
	factors := cookFactors(slices.DeleteFunc(slices.Clone(c.fits), func(x lab.Calibration) bool {
		return !matches(x) || x.Fit.What != out.newest.Fit.What
	}))
	out.cooks = len(factors)
	if out.newest.Fit.What == "surface" {
		return out
	}
	pool, err := thermal.PoolFits(factors)
	if err != nil {
		return out
	}
	if out.lower, out.higher, err = v.substrate.Doubt(); err == nil {
		out.pool = &pool
	}
	return out
}

// cookFactors are the factors of fits, one of each cook: jars of one cook share
// its pot and its loggers, and say little of the next cook. Of a record that
// was fitted twice the later fit counts.
func cookFactors(fits []lab.Calibration) []float64 {
	type probe struct {
		cook   lab.CookID
		record lab.EntryID
	}
	var cooks []lab.CookID
	newest := make(map[probe]int)
	for i, x := range fits {
		newest[probe{x.Cook, x.Fit.Record}] = i
		if !slices.Contains(cooks, x.Cook) {
			cooks = append(cooks, x.Cook)
		}
	}
	var out []float64
	for _, cook := range cooks {
		sum, n := 0.0, 0.0
		for i, x := range fits {
			if x.Cook == cook && newest[probe{x.Cook, x.Fit.Record}] == i {
				sum, n = sum+math.Log(x.Fit.Factor), n+1
			}
		}
		out = append(out, math.Exp(sum/n))
	}
	return out
}

// fitted says that a probe speaks in the figures of v, and what that does to
// their band; "" if none does.
func (v *CookVessel) fitted() string {
	if v == nil || v.fits.newest == nil {
		return ""
	}
	f, o := v.fits.newest.Fit, v.fits
	what := fmt.Sprintf("%s in %s, filled to %.0f mm", f.Mix, f.Vessel, f.FillMM)
	switch {
	case f.What == "surface":
		return fmt.Sprintf("Your own probe of %s, is counted: the transfer at its faces is %.2g times that of a solid cake. The band stays that of the fill, which such a fit says nothing of.", what, f.Factor)
	case o.pool == nil:
		return fmt.Sprintf("Your own probe of %s, is counted: the conductivity is %.2g times that of a solid cake. The band stays as wide as without it: %s can not tell how far the next jar may be off, %d can.", what, f.Factor, fewCooks(o.cooks), thermal.LeastFits)
	case o.narrows():
		return fmt.Sprintf("Your own probes of %s, are counted, from %s: the conductivity is %.2g times that of a solid cake, and the next jar is within %.0f %% of it nine times in ten. That is the band, instead of the usual −%.0f to +%.0f %%.", what, cooksCounted(o.cooks), o.pool.Factor, math.Ceil(o.pool.SpreadPct), 100*o.lower, 100*o.higher)
	}
	return fmt.Sprintf("Your own probes of %s, are counted, from %s: the conductivity is %.2g times that of a solid cake. They differ so that the next jar may be %.0f %% off, more than the usual band of −%.0f to +%.0f %%, which is kept: look for what was not alike in fill, lid or place, and take it as too narrow.", what, cooksCounted(o.cooks), o.pool.Factor, math.Ceil(o.pool.SpreadPct), 100*o.lower, 100*o.higher)
}

func fewCooks(n int) string {
	if n == 1 {
		return "one cook"
	}
	return cooksCounted(n)
}
