package app

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// learnFrom is how many of the last cooks of a cooker are learned from.
const learnFrom = 5

// learnCooker replaces the loss of water and the heat-up of the cooker by
// what its last cooks show: the middle heat-up, and the greatest loss, for a
// pot must not run dry.
func (f *Farm) learnCooker(ctx context.Context, r store.Reader, facts *cookFacts) error {
	cooks, err := r.Cooks(ctx, 60)
	if err != nil {
		return err
	}
	cooks = slices.DeleteFunc(cooks, func(c lab.Cook) bool {
		return c.ID == facts.cook.ID || c.Number > facts.cook.Number || lab.NameKey(c.Cooker) != lab.NameKey(facts.cook.Cooker)
	})
	ids := make([]lab.CookID, len(cooks))
	for i, c := range cooks {
		ids[i] = c.ID
	}
	if len(ids) == 0 {
		return nil
	}
	marks, err := r.CookMarks(ctx, ids...)
	if err != nil {
		return err
	}
	steps, err := r.CookSteps(ctx, ids...)
	if err != nil {
		return err
	}
	marksOf := groupBy(marks, func(m lab.CookMark) lab.CookID { return m.Cook })
	stepsOf := groupBy(steps, func(s lab.CookStep) lab.CookID { return s.Cook })
	var heatUps, losses []float64
	for _, c := range cooks {
		past := cookFacts{marks: lab.CurrentMarks(marksOf[c.ID]), steps: lab.CurrentSteps(stepsOf[c.ID])}
		if m, ok := past.heatUp(); ok && len(heatUps) < learnFrom {
			heatUps = append(heatUps, m)
		}
		if ml, ok := past.lossMlH(); ok && len(losses) < learnFrom {
			losses = append(losses, ml)
		}
	}
	facts.learn(heatUps, losses)
	return nil
}

// learn takes heat-ups (minutes) and losses (mL/h) of earlier cooks.
func (c *cookFacts) learn(heatUps, losses []float64) {
	if len(heatUps)+len(losses) == 0 {
		return
	}
	now := lab.Cooker{Name: c.cook.Cooker}
	if c.cooker != nil {
		now = *c.cooker
	}
	if n := len(heatUps); n > 0 {
		slices.Sort(heatUps)
		m := units.Minute(heatUps[n/2])
		now.Figures.HeatUpMin = &m
		c.learned += fmt.Sprintf("To pressure in %.0f min, as in your last %s here. ", float64(m), cooksCounted(n))
	}
	if n := len(losses); n > 0 {
		most := slices.Max(losses)
		now.Figures.LossMlH = &most
		c.learned += fmt.Sprintf("Loses %.0f mL in an hour of hold, venting included: the most of your last %s here.", most, cooksCounted(n))
	}
	c.cooker = &now
}

func cooksCounted(n int) string {
	if n == 1 {
		return "cook"
	}
	return fmt.Sprintf("%d cooks", n)
}

// heatUp returns the minutes from heat on to the first time at the target.
func (c cookFacts) heatUp() (float64, bool) {
	on, hasOn := c.stepAt(lab.HeatOn)
	reached, hasReached := c.markAt(lab.Reached)
	m := reached.Sub(on).Minutes()
	return m, hasOn && hasReached && m >= 1 && m <= 600
}

// lossMlH returns what was poured less what was left, over the hours from
// target to heat off; what was vented before counts as lost in them.
func (c cookFacts) lossMlH() (float64, bool) {
	poured, left := c.pouredL(), c.stepValue(lab.WaterLeft)
	reached, hasReached := c.markAt(lab.Reached)
	off, isOff := c.markAt(lab.HeatOff)
	if poured == nil || left == nil || !hasReached || !isOff {
		return 0, false
	}
	hours, lost := off.Sub(reached).Hours(), *poured*1000-*left
	return math.Max(lost, 0) / hours, hours >= 0.25 && lost >= 0 && lost/hours <= 20000
}
