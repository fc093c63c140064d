package app

import (
	"cmp"
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
	ids := each(cooks, func(c lab.Cook) lab.CookID { return c.ID })
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
	var heatUps []float64
	var losses []waterLoss
	for _, c := range cooks {
		past := cookFacts{marks: lab.CurrentMarks(marksOf[c.ID]), steps: lab.CurrentSteps(stepsOf[c.ID])}
		if m, ok := past.heatUp(); ok && len(heatUps) < learnFrom {
			heatUps = append(heatUps, m)
		}
		if l, ok := past.waterLoss(); ok && len(losses) < learnFrom {
			losses = append(losses, l)
		}
	}
	facts.learn(heatUps, losses)
	return nil
}

// learn takes heat-ups (minutes) and losses of earlier cooks.
func (c *cookFacts) learn(heatUps []float64, losses []waterLoss) {
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
		c.learned += fmt.Sprintf("To the target in %.0f min, as in your last %s here. ", float64(m), cooksCounted(n))
	}
	if n := len(losses); n > 0 {
		perHour, ventMl, split := splitLoss(losses)
		now.Figures.LossMlH = &perHour
		if split {
			litres := ventMl / 1000
			c.ventL = &litres
			c.learned += fmt.Sprintf("Loses up to %.0f mL before the hold and %.0f mL in an hour of it, by your last %s here of unlike length.", ventMl, perHour, cooksCounted(n))
		} else {
			c.learned += fmt.Sprintf("Loses %.0f mL in an hour of hold, what is vented before it included: the most of your last %s here. Cooks of one length can not tell the two apart: a shorter hold is given as much as the shortest of them.", perHour, cooksCounted(n))
			c.shortest = slices.MinFunc(losses, func(a, b waterLoss) int { return cmp.Compare(a.hours, b.hours) })
		}
	}
	c.cooker = &now
}

// waterLoss is what one cook lost, and the hours of its hold.
type waterLoss struct{ ml, hours float64 }

// apart is how far the holds of cooks must be apart to tell what is lost
// before a hold from what is lost in an hour of it.
const apart = 0.5

// splitLoss parts losses into what is lost before the hold and in an hour of
// it: the straight line through the cooks by least squares, lifted to the
// greatest loss, for a pot must not run dry. Where their holds are too much
// alike, or the line makes no sense, all is taken as lost in the hold, at the
// greatest rate.
func splitLoss(losses []waterLoss) (perHour, beforeMl float64, split bool) {
	n := float64(len(losses))
	var hours, ml, low, high float64
	low = math.Inf(1)
	for _, l := range losses {
		hours, ml = hours+l.hours/n, ml+l.ml/n
		low, high = math.Min(low, l.hours), math.Max(high, l.hours)
		perHour = math.Max(perHour, l.ml/l.hours)
	}
	if high-low < apart {
		return perHour, 0, false
	}
	var xx, xy float64
	for _, l := range losses {
		xx += (l.hours - hours) * (l.hours - hours)
		xy += (l.hours - hours) * (l.ml - ml)
	}
	slope := xy / xx
	before := ml - slope*hours
	if !(slope > 0 && before >= 0) {
		return perHour, 0, false
	}
	lift := 0.0
	for _, l := range losses {
		lift = math.Max(lift, l.ml-before-slope*l.hours)
	}
	return slope, before + lift, true
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

// waterLoss returns what was poured less what was left, with the hours from
// target to heat off.
func (c cookFacts) waterLoss() (waterLoss, bool) {
	poured, left := c.pouredL(), c.stepValue(lab.WaterLeft)
	reached, hasReached := c.markAt(lab.Reached)
	off, isOff := c.markAt(lab.HeatOff)
	if poured == nil || left == nil || !hasReached || !isOff {
		return waterLoss{}, false
	}
	l := waterLoss{*poured*1000 - *left, off.Sub(reached).Hours()}
	return l, l.hours >= 0.25 && l.ml >= 0 && l.ml/l.hours <= 20000
}
