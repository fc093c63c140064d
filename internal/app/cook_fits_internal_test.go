package app

import (
	"math"
	"strings"
	"testing"

	"pinset/internal/calc/thermal"
	"pinset/internal/lab"
)

// fitsOf are fits of a jar of oats filled to 60 mm, each of a record of its
// own; cooks go by the letters.
func fitsOf(cooks string, factors ...float64) []lab.Calibration {
	var out []lab.Calibration
	for i, f := range factors {
		out = append(out, lab.Calibration{Cook: lab.CookID(cooks[i : i+1]), Container: "jar", Fit: lab.CalibrationFit{
			What: "multiplier", Factor: f, FillMM: 60, Vessel: "half-litre jar", Mix: "oats", Record: lab.EntryID(rune('0' + i)),
		}})
	}
	return out
}

func matched(t *testing.T, fits []lab.Calibration) CookVessel {
	t.Helper()
	moisture := 60.0
	v := CookVessel{Name: "half-litre jar", Recipe: "Oats", FillMM: 62, substrate: thermal.Substrate{MoisturePct: &moisture}, kind: vesselKind{container: "jar"}}
	facts := cookFacts{fits: fits, vessels: []CookVessel{v}}
	facts.matchFits()
	return facts.vessels[0]
}

// TestFitsNarrowTheBand: fits of three cooks that agree replace the usual
// band; fewer, or such as differ, scale it only, and it is said why.
func TestFitsNarrowTheBand(t *testing.T) {
	one := fitsOf("abc", 1.5, 1.52, 1.49)
	faces := fitsOf("abc", 1.5, 1.52, 1.49)
	for i := range faces {
		faces[i].Fit.What = "surface"
	}
	refitted := fitsOf("abcc", 1.5, 1.52, 4, 1.49)
	refitted[2].Fit.Record = refitted[3].Fit.Record
	tall, other := fitsOf("abc", 1.5, 1.52, 1.49), fitsOf("abc", 1.5, 1.52, 1.49)
	tall[0].Fit.FillMM, other[1].Fit.Mix = 80, "millet"
	for _, c := range []struct {
		name   string
		fits   []lab.Calibration
		factor float64 // 0: none
		narrow bool
		says   string
	}{
		{"none", nil, 0, false, ""},
		{"one", one[:1], 1.5, false, "one cook can not tell how far the next jar may be off, 3 can"},
		{"two", one[:2], 1.52, false, "2 cooks can not tell"},
		{"three", one, math.Cbrt(1.5 * 1.52 * 1.49), true, "nine times in ten"},
		{"three of one cook", fitsOf("aaa", 1.5, 1.52, 1.49), 1.49, false, "one cook can not tell"},
		{"five of three cooks", fitsOf("abbac", 1.5, 1.48, 1.56, 1.5, 1.49), math.Cbrt(1.5 * math.Sqrt(1.48*1.56) * 1.49), true, "from 3 cooks"},
		{"three that differ", fitsOf("abc", 1.2, 1.5, 1.9), math.Cbrt(1.2 * 1.5 * 1.9), false, "which is kept: look for what was not alike"},
		{"a record fitted twice", refitted, math.Cbrt(1.5 * 1.52 * 1.49), true, "nine times in ten"},
		{"one filled higher", tall, 1.49, false, "2 cooks can not tell"},
		{"one of another recipe", other, 1.49, false, "2 cooks can not tell"},
		{"faces", faces, 0, false, "which such a fit says nothing of"},
	} {
		v := matched(t, c.fits)
		m, spread := v.substrate.Multiplier, v.substrate.SpreadPct
		if c.factor == 0 != (m == nil) || m != nil && math.Abs(*m-c.factor) > 1e-12 {
			t.Errorf("%s: the factor is %v, want %g", c.name, m, c.factor)
		}
		if c.narrow != (spread != nil) {
			t.Errorf("%s: the spread is %v", c.name, spread)
		}
		if says := v.fitted(); !strings.Contains(says, c.says) || c.says == "" && says != "" {
			t.Errorf("%s: it says %q, want %q", c.name, says, c.says)
		}
	}
	if v := matched(t, faces); v.container.Surface == nil || *v.container.Surface != 1.49 {
		t.Errorf("of the faces %v is counted", v.container.Surface)
	}
	// What was matched before is forgotten when the fits no longer match.
	facts := cookFacts{fits: one, vessels: []CookVessel{matched(t, one)}}
	facts.vessels[0].FillMM = 90
	facts.matchFits()
	if v := facts.vessels[0]; v.substrate.Multiplier != nil || v.substrate.SpreadPct != nil || v.fitted() != "" {
		t.Errorf("a fill of 90 mm is taken as fitted: %q", v.fitted())
	}
}
