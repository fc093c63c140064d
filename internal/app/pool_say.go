package app

import (
	"fmt"
	"math"

	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
)

// None is the figure that says "no difference".
func (p Pooled) None() float64 {
	if p.Ratio {
		return 1
	}
	return 0
}

// Alike is how far a figure may go from None and still not matter.
func (p Pooled) Alike() (low, high float64) {
	if p.Ratio {
		return 1 - math.Min(p.Matters, 99)/100, 1 + p.Matters/100
	}
	return -p.Matters, p.Matters
}

// Figure writes a figure of the contrast.
func (p Pooled) Figure(v float64) string {
	if p.Ratio {
		return fmt.Sprintf("%.2f", v)
	}
	return points(v)
}

// points writes a difference of shares with its sign.
func points(v float64) string {
	switch r := math.Round(v); {
	case r < 0:
		return fmt.Sprintf("−%.0f", -r)
	case r > 0:
		return fmt.Sprintf("+%.0f", r)
	}
	return "0"
}

// Unit is what figures of the contrast are in.
func (p Pooled) Unit() string {
	if p.Ratio {
		return "times " + p.Than
	}
	return "points of a hundred jars"
}

// Band writes a figure with its interval.
func (p Pooled) Band(b PoolBand) string {
	return fmt.Sprintf("%s (%s to %s)", p.Figure(b.Value), p.Figure(b.Low), p.Figure(b.High))
}

// ended says how the mean over all trials ends, by the same rule as a verdict.
func (p Pooled) ended() trialstat.Ending {
	m := p.Answer.Result.Mean
	low, high := p.Alike()
	switch {
	case m.Low > p.None() || m.High < p.None():
		return trialstat.Supported
	case m.Low >= low && m.High <= high:
		return trialstat.Alike
	}
	return trialstat.NotToldApart
}

func (p Pooled) over() string {
	if len(p.Rows) == 1 {
		return "One trial so far"
	}
	text := fmt.Sprintf("Over %d trials", len(p.Rows))
	switch {
	case p.Away == len(p.Rows):
		text += ", none of them your own"
	case p.Away > 0:
		text += fmt.Sprintf(", %d of them from elsewhere", p.Away)
	}
	return text
}

// say writes the sentence that the page begins with, and what the next grow may
// show.
func (p *Pooled) say() {
	r := p.Answer.Result
	p.Ending = p.ended()
	amount := fmt.Sprintf("%s times as much", p.Figure(r.Mean.Value))
	if !p.Ratio {
		amount = fmt.Sprintf("%s points of a hundred jars", p.Figure(r.Mean.Value))
	}
	amount += fmt.Sprintf(" (95 %% interval %s to %s)", p.Figure(r.Mean.Low), p.Figure(r.Mean.High))
	switch {
	case p.Ending == trialstat.Supported && r.Mean.Value > p.None():
		p.Sentence = fmt.Sprintf("%s, %s gives more than %s: %s.", p.over(), p.This, p.Than, amount)
	case p.Ending == trialstat.Supported:
		p.Sentence = fmt.Sprintf("%s, %s gives less than %s: %s.", p.over(), p.This, p.Than, amount)
	case p.Ending == trialstat.Alike:
		p.Sentence = fmt.Sprintf("%s, %s and %s are alike within what matters: %s.", p.over(), p.This, p.Than, amount)
	default:
		p.Sentence = fmt.Sprintf("%s, %s and %s are not told apart: %s.", p.over(), p.This, p.Than, amount)
	}
	p.Next = fmt.Sprintf("The next grow may show %s to %s, most likely %s.", p.Figure(r.Next.Low), p.Figure(r.Next.High), p.Figure(r.Next.Value))
	if p.Ending == trialstat.Supported && r.Next.Low <= p.None() && r.Next.High >= p.None() {
		p.Next += " So a single grow may still come out the other way."
	}
}

// doubt adds the cautions that only the records can tell of.
func (p *Pooled) doubt() {
	add := func(code, title, text string, args ...any) {
		p.Answer.Cautions = append(p.Answer.Cautions, figure.Caution{Code: code, Title: title, Weight: figure.Care, Text: fmt.Sprintf(text, args...)})
	}
	if p.Away > 0 {
		add("same_by_name", "The same by name only", "Whether %s and %s of a trial from elsewhere are what you call so can not be seen from here. Read on its page what each arm was, and set it aside if it was something else.", p.This, p.Than)
	}
	if one := p.Rows; len(one) == 1 && p.Ending != trialstat.Supported && (one[0].Given.Low > p.None() || one[0].Given.High < p.None()) {
		add("one_trial", "The trial itself told them apart", "By itself it is %s. That holds for its own jars; how far the next trial may differ one trial can not say, and so the mean over trials is wider.", p.Band(one[0].Given))
	}
	if own := p.Answer.Result.MeanOwn; own != nil && p.Ending == trialstat.Supported && own.Low <= p.None() && own.High >= p.None() {
		add("not_by_own", "Your own trials alone do not say so", "Without those from elsewhere it is %s, which does not tell them apart. Repeat it yourself before you change over.", p.Band(*own))
	}
	if r := p.Answer.Result.REML; r != nil && p.Ending == trialstat.Supported && !(r.Mean.Low > p.None() || r.Mean.High < p.None()) {
		add("usual_way", "The usual way is less sure", "The mean by restricted maximum likelihood with the interval of Hartung and Knapp is %s. It knows nothing but these %d trials, and with two or three it is honest and very wide.", p.Band(r.Mean), len(p.Rows))
	}
}
