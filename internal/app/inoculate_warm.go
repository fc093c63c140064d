package app

import (
	"context"
	"fmt"
	"math"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// What is taken where the model can not say when a core is cold, and for how
// long after heat off it is asked at all. Common practice, no source: jars are
// left in the pot overnight.
const (
	coldAfter = 10 * time.Hour
	askedFor  = 24 * time.Hour
)

// warmCautions says of each cook that jars come from whether its cores may
// still be too warm at a time.
func (f *Farm) warmCautions(ctx context.Context, at lab.When, jars []store.JarRow) ([]figure.Caution, error) {
	var out []figure.Caution
	if at.Exactness != lab.Exact {
		return nil, nil
	}
	err := f.store.Read(ctx, func(r store.Reader) error {
		asked := map[lab.CookID]bool{"": true}
		for _, j := range jars {
			if asked[j.Cook] {
				continue
			}
			asked[j.Cook] = true
			c, err := r.Cook(ctx, j.Cook)
			if err != nil {
				return err
			}
			said, err := f.warmFrom(ctx, r, c, at.Time)
			if err != nil {
				return err
			}
			out = append(out, said...)
		}
		return nil
	})
	return out, err
}

// warmFrom says whether the cores of c may be too warm at t.
func (f *Farm) warmFrom(ctx context.Context, r store.Reader, c lab.Cook, t time.Time) ([]figure.Caution, error) {
	marks, err := r.CookMarks(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	off, isOff := cookFacts{marks: lab.CurrentMarks(marks)}.markAt(lab.HeatOff)
	if after := t.Sub(off); !isOff || after < 0 || after >= askedFor {
		return nil, nil
	}
	facts, err := f.cookFacts(ctx, r, c)
	if err != nil {
		return nil, err
	}
	facts.matchFits()
	core, err := facts.core(f.now())
	if err != nil {
		return nil, err
	}
	cold, by := coldAfter, "as a rule overnight"
	if core.Result != nil && core.Result.HoursTo30CBand.High != nil {
		hours := *core.Result.HoursTo30CBand.High + *core.Result.HoursTo30CHeatOff - *core.Result.HoursTo30C
		cold, by = time.Duration(hours*float64(time.Hour)), fmt.Sprintf("by the model up to %.0f h after that in air, later in the closed pot", math.Ceil(hours))
	}
	if t.Sub(off) >= cold {
		return nil, nil
	}
	return []figure.Caution{{
		Code: "core_still_warm", Title: "The cores may still be warm", Weight: figure.Stop,
		Text: fmt.Sprintf("The heat of %s went off %s before. A core takes its time to fall below 30 °C: %s. Put a thermometer into the middle of one jar first: above 30 °C the culture dies, and the wall is no guide.", c, spokenHours(t.Sub(off)), by),
	}}, nil
}

func spokenHours(d time.Duration) string {
	if d < 90*time.Minute {
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	return fmt.Sprintf("%.0f h", math.Floor(d.Hours()))
}
