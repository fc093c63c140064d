package main

import (
	"fmt"
	"io"
	"math/rand/v2"
	"text/tabwriter"

	"pinset/internal/calc/trialstat"
)

// season is where the jars of a trial over several cooks come from.
type season struct {
	cooks, arms, jars int     // jars of an arm in each cook
	tau               float64 // SD of what a cook does to one arm alone, as a share of the mean
	spread            float64 // SD of arm B over that of A
	zeros             float64 // share of jars that are lost
	makings           int     // of one arm in one cook, each with a slip
	slip              float64 // SD of a making, as a share of the mean
}

// seasons are trials over 3 to 6 cooks.
func seasons() []season {
	var out []season
	for _, cooks := range []int{3, 4, 5, 6} {
		for _, tau := range []float64{0, 0.1, 0.2} {
			out = append(out, season{cooks: cooks, arms: 2, jars: 4, tau: tau, spread: 1, zeros: 0.1, makings: 1})
		}
		out = append(out, season{cooks: cooks, arms: 2, jars: 4, tau: 0.1, spread: 2, zeros: 0.1, makings: 1})
	}
	for _, cooks := range []int{3, 4, 6} {
		out = append(out,
			season{cooks: cooks, arms: 4, jars: 3, tau: 0, spread: 1, zeros: 0.1, makings: 1},
			season{cooks: cooks, arms: 4, jars: 3, tau: 0.1, spread: 1, zeros: 0.1, makings: 1},
			season{cooks: cooks, arms: 4, jars: 3, tau: 0.1, spread: 2, zeros: 0.1, makings: 1})
	}
	return append(out, season{cooks: 6, arms: 2, jars: 6, tau: 0.1, spread: 1, zeros: 0.1, makings: 2, slip: 0.1})
}

// overCooks tabulates trials over several cooks, in which arms are equal in the mean of
// all cooks to come.
func overCooks(to io.Writer, reps int, seed uint64) error {
	out := tabwriter.NewWriter(to, 0, 0, 1, ' ', 0)
	fmt.Fprintln(out, "| cooks\t| arms\t| jars an arm and cook\t| from cook to cook\t| spread of B over A\t| makings\t| taken by\t| interval holds the truth\t| false supported\t| false, jar by jar\t| median width, %\t|")
	fmt.Fprintln(out, "|--\t|--\t|--\t|--\t|--\t|--\t|--\t|--\t|--\t|--\t|--\t|")
	for k, s := range seasons() {
		if err := s.row(out, reps, rand.New(rand.NewPCG(seed, 1000+uint64(k)))); err != nil {
			return err
		}
	}
	return nil
}

// row simulates one season; of several arms all intervals must hold.
func (s season) row(out *tabwriter.Writer, reps int, chance *rand.Rand) error {
	verdicts, held, wrong, byJar := 0, 0, 0, 0
	var widths []float64
	way := map[string]int{}
	for range reps {
		answer, err := trialstat.Compare(s.trial(chance))
		if err != nil {
			return err
		}
		said, all, astray, jars := false, true, false, false
		for k, c := range answer.Result.Comparisons {
			x := c.Decides()
			if c.Ending == trialstat.NoComparison || x.Low == nil || c.ByCook == nil {
				continue
			}
			said = true
			all = all && *x.Low <= 0 && 0 <= *x.High
			astray = astray || c.Ending == trialstat.Supported
			low, high := c.Difference.Low, c.Difference.High
			if c.Difference.JointLow != nil {
				low, high = c.Difference.JointLow, c.Difference.JointHigh
			}
			jars = jars || *low > 0 || *high < 0
			if k == 0 {
				widths = append(widths, *x.High-*x.Low)
				way[c.ByCook.Method]++
			}
		}
		if !said {
			continue
		}
		verdicts++
		held += count(all)
		wrong += count(astray)
		byJar += count(jars)
	}
	method := "one difference a cook"
	if way[trialstat.MixedModel] > way[trialstat.PerCook] {
		method = "model"
	}
	fmt.Fprintf(out, "| %d\t| %d\t| %d\t| %s\t| %g\t| %d\t| %s\t| %s\t| %s\t| %s\t| %s\t|\n", s.cooks, s.arms, s.jars, percent(s.tau), s.spread, s.makings,
		method, share(held, verdicts), share(wrong, verdicts), share(byJar, verdicts), middle(widths))
	return out.Flush()
}

// trial draws one trial: two layers in each cook, arms of equal mean.
func (s season) trial(chance *rand.Rand) trialstat.CompareInput {
	in := trialstat.CompareInput{ArmsDifferIn: []string{"recipe"}, Control: "A", Seed: new(uint64)}
	for cook := range s.cooks {
		level := meanGrams + cookSD*chance.NormFloat64()
		for arm, name := range []trialstat.Label{"A", "B", "C", "D"}[:s.arms] {
			sd := cvA * meanGrams
			if arm == 1 {
				sd *= s.spread
			}
			own := level + s.tau/2*meanGrams*1.4142135623730951*chance.NormFloat64() // of a difference the SD is tau
			made := make([]float64, s.makings)
			for m := range made {
				made[m] = s.slip * meanGrams * chance.NormFloat64()
			}
			for n := range s.jars {
				r := trialstat.CompareRow{
					Jar: trialstat.Label(fmt.Sprintf("%s%d.%d", name, cook, n)), Arm: name, Recipe: name, Fate: "lost",
					Cook: trialstat.Label(fmt.Sprint("C", cook)), Layer: trialstat.Label(fmt.Sprint(n % 2)),
					MixMade: trialstat.Label(fmt.Sprintf("%s%d.%d", name, cook, n*s.makings/s.jars)),
				}
				grams := max(0, own+layerStep*float64(n%2)+made[n*s.makings/s.jars]+sd*chance.NormFloat64())
				if chance.Float64() >= s.zeros {
					r.Fate, r.Value = "picked", &grams
				}
				in.Rows = append(in.Rows, r)
			}
		}
	}
	return in
}
