package report

import (
	"fmt"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/picture"
)

// Finding is one sentence of a verdict and how it ends.
type Finding struct {
	Of       string // what is compared: "rice and millet"
	Ending   string // as the judge names it
	Sentence string
}

// Findings are what a verdict says, what decides first: the lines through ladders,
// then the comparisons.
func Findings(v app.TrialView) []Finding {
	var out []Finding
	for _, t := range v.Verdict.Result.Trends {
		of := "The ladder"
		if t.Factor != "" {
			of = "The ladder of " + t.Factor
		}
		out = append(out, Finding{of, string(t.Ending), sentence(t.Sentence)})
	}
	for _, c := range v.Verdict.Result.Comparisons {
		out = append(out, Finding{strings.Join(c.Arms, " and "), string(c.Ending), sentence(c.Sentence)})
	}
	return out
}

// Dependences are what a verdict says on whether the factors of a crossing depend on
// each other.
func Dependences(v app.TrialView) []Finding {
	var out []Finding
	for _, x := range v.Verdict.Result.Interactions {
		out = append(out, Finding{strings.Join(x.Factors, " and ") + ": " + x.Levels[0] + " with " + x.Levels[2], string(x.Ending), sentence(x.Sentence)})
	}
	return out
}

// PartsHint says what the two parts are.
const PartsHint = "Grams per jar inoculated have two parts: how many jars fruited, and what those gave. Intervals are at 95 %: shares by Newcombe, grams by Welch. They decide nothing beside the verdict."

// Parts sets the share of jars that fruited beside the grams of those that did, false
// where neither is known.
func Parts(v app.TrialView) (picture.Table, bool) {
	t := picture.Table{Head: []string{"Arms", "fruited", "apart, points", "by chance, p", "g if fruited, apart", "from, to"}}
	some := false
	for _, c := range v.Verdict.Result.Comparisons {
		row := []string{strings.Join(c.Arms, " less "), "not known", "not known", "not known", "not known", "not known"}
		if f := c.Fruited; f != nil {
			some = true
			row[1] = fmt.Sprintf("%d of %d, %d of %d", f.B.Jars, f.B.Of, f.Control.Jars, f.Control.Of)
			row[2] = signed(f.Difference.Value, 100, 0) + " (" + ends(f.Difference.Low, f.Difference.High, 100, 0) + ")"
			row[3] = chances(f.PBoschloo, f.PFisher)
		}
		d := c.Difference
		if c.Also != nil && c.Also.Per == lab.PerPicked {
			d = c.Also.Difference
		}
		if c.Per == lab.PerPicked || c.Also != nil && c.Also.Per == lab.PerPicked {
			row[4], row[5] = signed(d.Value, 1, 1), ends(d.Low, d.High, 1, 1)
		}
		t.Rows = append(t.Rows, row)
	}
	return t, some
}

// signed writes a figure with a true minus sign.
func signed(x *float64, by float64, decimals int) string {
	if x == nil {
		return "not known"
	}
	return strings.Replace(strconv.FormatFloat(by**x, 'f', decimals, 64), "-", "−", 1)
}

// ends writes the ends of an interval: "3.1 to 6.0".
func ends(low, high *float64, by float64, decimals int) string {
	if low == nil || high == nil {
		return "no interval"
	}
	return signed(low, by, decimals) + " to " + signed(high, by, decimals)
}

func chances(boschloo, fisher *float64) string {
	if boschloo == nil {
		return known(fisher, 3, "") + " (Fisher)"
	}
	return fmt.Sprintf("%s (Fisher %s)", known(boschloo, 3, ""), known(fisher, 3, ""))
}

// Beside are sentences that stand beside a verdict and decide nothing: what the lot
// alone does not rule out, and how counts spread.
func Beside(v app.TrialView) []string {
	var out []string
	for _, c := range v.Verdict.Result.Comparisons {
		arms := strings.Join(c.Arms, " less ")
		if c.Shift != nil {
			out = append(out, arms+": "+c.Shift.Sentence)
		}
		if b := c.Bootstrap; b != nil {
			out = append(out, fmt.Sprintf("%s: resampled, the interval is %s (bias-corrected and accelerated, 4000 resamples).", arms, ends(b.Low, b.High, 1, 1)))
		}
		if n := c.Counts; n != nil && n.Value != nil {
			out = append(out, fmt.Sprintf("%s: %s times as many (%s to %s at 95 %%), where counts spread %.1f times as far as chance alone would.", strings.Join(c.Arms, " against "), known(n.Value, 2, ""), known(n.Low, 2, ""), known(n.High, 2, ""), n.Spread))
		}
	}
	for _, t := range v.Verdict.Result.Trends {
		if t.PRandomisation != nil {
			out = append(out, fmt.Sprintf("The ladder: of the ways to deal the doses anew within the same place, a share of %s gives as steep a line.", known(t.PRandomisation, 4, "")))
		}
	}
	return out
}

// OverCooks says how what decides was judged from cook to cook, "" if jars are counted.
func OverCooks(v app.TrialView) string {
	r := v.Verdict.Result
	for _, t := range r.Trends {
		if t.ByCook != nil {
			return t.ByCook.Why
		}
	}
	for _, c := range r.Comparisons {
		if c.ByCook != nil {
			return c.ByCook.Why
		}
	}
	return ""
}
