package app

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/calc/stats"
	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
)

// PrintedInput is one comparison that was printed somewhere, as typed.
// Either an estimate is given, with its interval or its standard error, or what
// each arm came to.
type PrintedInput struct {
	Name     string `json:"name"`   // what the trial is called
	Source   string `json:"source"` // author, year, where
	Is       string `json:"is"`     // what differs: recipe, culture, container or treatment
	This     string `json:"this"`
	Than     string `json:"than"`
	Outcome  string `json:"outcome"` // as of a trial; grams per jar inoculated if ""
	Estimate string `json:"estimate"`
	SE       string `json:"se"` // of the logarithm for a ratio
	Low      string `json:"low"`
	High     string `json:"high"`

	ThisArm PrintedArm `json:"this_arm"`
	ThanArm PrintedArm `json:"than_arm"`
}

// PrintedArm is what one arm came to in print: jars, mean and standard deviation,
// or of jars how many did for a share.
type PrintedArm struct {
	Jars string `json:"jars"`
	Mean string `json:"mean"`
	SD   string `json:"sd"`
	Did  string `json:"did"`
}

// TypeGuest keeps a comparison from print, to be added up with the farm's own
// trials and told apart from them. The same figures twice are kept once.
func (f *Farm) TypeGuest(ctx context.Context, a Act, in PrintedInput) (TakenIn, error) {
	g, err := in.guest()
	out := TakenIn{Guest: g, Usable: 1}
	if err != nil {
		return out, err
	}
	out.Done, out.Guest, err = f.keepGuest(ctx, a, g)
	return out, err
}

func (in PrintedInput) guest() (lab.Guest, error) {
	c, err := in.contrast()
	if err != nil {
		return lab.Guest{}, err
	}
	g := lab.Guest{Name: in.Name, From: in.Source, Kind: lab.FromPrint, Arms: []lab.GuestArm{}, Contrasts: []lab.Contrast{c}}
	if strings.TrimSpace(g.Name) == "" {
		g.Name = c.This() + " against " + c.Than()
	}
	if g, err = g.Check(); err != nil {
		return g, err
	}
	raw, err := json.Marshal([]any{g.Name, g.From, g.Contrasts})
	if err != nil {
		return g, fmt.Errorf("write down %s: %w", g.Name, err)
	}
	sum := sha256.Sum256(raw)
	g.Hash = hex.EncodeToString(sum[:])
	return g, nil
}

func (in PrintedInput) contrast() (lab.Contrast, error) {
	c := lab.Contrast{Outcome: in.Outcome}
	if c.Outcome == "" {
		c.Outcome = lab.PerInoculated
	}
	if !slices.Contains(lab.Outcomes, c.Outcome) || c.Outcome == lab.ByColour {
		return c, lab.Invalidf("outcome", "choose inoculated, picked, fruited, clean or pins", "%.40q can not be added up", c.Outcome)
	}
	is, err := lab.ParseFactors([]string{in.Is})
	if err != nil {
		return c, err
	}
	side := lab.Side{Is: is[0]}
	if side.This, err = lab.Name("this", in.This); err != nil {
		return c, err
	}
	if side.Than, err = lab.Name("than", in.Than); err != nil {
		return c, err
	}
	c.Sides = []lab.Side{side}
	c.Ratio = c.Outcome != lab.ByFruited && c.Outcome != lab.ByClean
	if strings.TrimSpace(in.Estimate) == "" {
		return in.fromArms(c)
	}
	return in.fromEstimate(c)
}

// typedNumber reads a figure; what says what it is.
func typedNumber(field, what, typed string) (float64, error) {
	x, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(typed), ",", ".", 1), 64)
	if err != nil || math.IsNaN(x) || math.Abs(x) > 1e9 {
		return 0, lab.Invalidf(field, "write a plain number, such as 1.2", "%s is %.40q", what, typed)
	}
	return x, nil
}

// fromEstimate reads a ratio, or a difference in points, with what it may be off.
func (in PrintedInput) fromEstimate(c lab.Contrast) (lab.Contrast, error) {
	var err error
	if c.Value, err = typedNumber("estimate", "the estimate", in.Estimate); err != nil {
		return c, err
	}
	if c.Ratio && !(c.Value > 0) || !c.Ratio && math.Abs(c.Value) > 100 {
		return c, lab.Invalidf("estimate", "write how many times as much, such as 1.2; for shares the difference in points of a hundred jars", "an estimate of %g can not be", c.Value)
	}
	if strings.TrimSpace(in.SE) != "" {
		se, err := typedNumber("se", "the standard error", in.SE)
		if err != nil {
			return c, err
		}
		if !(se > 0) || c.Ratio && se > 5 {
			return c, lab.Invalidf("se", "write the standard error of the logarithm of the ratio, such as 0.12; for shares in points", "a standard error of %g can not be", se)
		}
		reach := stats.NormalQuantile(0.975) * se
		if c.Low, c.High = c.Value-reach, c.Value+reach; c.Ratio {
			c.Low, c.High = c.Value*math.Exp(-reach), c.Value*math.Exp(reach)
		}
		return c, nil
	}
	if c.Low, err = typedNumber("low", "the low end of its 95 % interval", in.Low); err != nil {
		return c, err
	}
	if c.High, err = typedNumber("high", "the high end of its 95 % interval", in.High); err != nil {
		return c, err
	}
	if !(c.Low < c.High && c.Low <= c.Value && c.Value <= c.High) || c.Ratio && !(c.Low > 0) {
		return c, lab.Invalidf("low", "check the three figures; give the standard error if the interval is not of 95 %", "%g does not lie within %g to %g", c.Value, c.Low, c.High)
	}
	return c, nil
}

// fromArms computes the contrast from what each arm came to.
//
// Source: as the verdict has it: Fieller (1954) for ratios of means, Newcombe
// (1998) for shares.
func (in PrintedInput) fromArms(c lab.Contrast) (lab.Contrast, error) {
	arms := []PrintedArm{in.ThisArm, in.ThanArm}
	prefixes := []string{"this_", "than_"}
	var figures [2][3]float64
	for i, a := range arms {
		wanted := []struct{ field, what, typed string }{{"jars", "the number of jars", a.Jars}, {"mean", "the mean", a.Mean}, {"sd", "the standard deviation between jars", a.SD}}
		if !c.Ratio {
			wanted = wanted[:1]
			wanted = append(wanted, struct{ field, what, typed string }{"did", "how many of the jars did", a.Did})
		}
		for k, w := range wanted {
			if strings.TrimSpace(w.typed) == "" {
				return c, lab.Invalidf(prefixes[i]+w.field, "give an estimate with its interval, or the jars and figures of both arms", "%s of %s is not given", w.what, []string{c.This(), c.Than()}[i])
			}
			x, err := typedNumber(prefixes[i]+w.field, w.what, w.typed)
			if err != nil {
				return c, err
			}
			figures[i][k] = x
		}
		n := figures[i][0]
		if n != math.Trunc(n) || n < 2 || n > 1e6 {
			return c, lab.Invalidf(prefixes[i]+"jars", "write a whole number from 2 on", "%g jars can not be", n)
		}
		c.Jars[i], c.Means[i] = int(n), figures[i][1]
	}
	if !c.Ratio {
		d, low, high, err := stats.Newcombe(int(figures[0][1]), c.Jars[0], int(figures[1][1]), c.Jars[1], 0.95)
		if err != nil {
			return c, lab.Invalidf("this_did", "write how many of the jars did", "%g of %d and %g of %d can not be", figures[0][1], c.Jars[0], figures[1][1], c.Jars[1])
		}
		c.Value, c.Low, c.High = 100*d, 100*low, 100*high
		c.Means = [2]float64{100 * figures[0][1] / figures[0][0], 100 * figures[1][1] / figures[1][0]}
		return c, nil
	}
	return judgedFigures(c, figures)
}

func judgedFigures(c lab.Contrast, figures [2][3]float64) (lab.Contrast, error) {
	names := []string{"this", "than"}
	compare := trialstat.CompareInput{Control: "than", Primary: primaries[c.Outcome]}
	for i, x := range figures {
		compare.Arms = append(compare.Arms, trialstat.ArmFigures{Name: label(names[i]), N: int(x[0]), Mean: &figures[i][1], SD: &figures[i][2]})
	}
	v, err := trialstat.Compare(compare)
	if err != nil {
		return c, lab.Invalidf("this_mean", "check jars, means and standard deviations", "these figures can not be compared: %v", err)
	}
	c = ratioOf(c, v.Result.Comparisons[0].Percent)
	if c.Not != "" {
		said := v.Result.Comparisons[0].Sentence
		return c, lab.Invalidf("this_sd", "check jars, means and standard deviations", "%s: %s", c.Not, said)
	}
	return c, nil
}
