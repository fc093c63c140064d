package forecast

import (
	"fmt"
	"math"
	"time"

	"pinset/internal/figure"
)

// DaysInput asks when one stage will come.
type DaysInput struct {
	BookLow    float64      `json:"book_low" jsonschema:"published days to the stage, from inoculation, low end; the same as book_high if one figure is given"`
	BookHigh   float64      `json:"book_high" jsonschema:"the high end"`
	Source     string       `json:"source,omitempty" jsonschema:"where the published days are from"`
	Batches    []PastBatch  `json:"batches,omitempty" jsonschema:"own batches that came to the stage, of this recipe and of others"`
	Recipe     figure.Label `json:"recipe,omitempty" jsonschema:"recipe of the batch that is waited for"`
	PassedDays float64      `json:"passed_days,omitempty" jsonschema:"days that have passed without the stage; 0 if it is not begun"`
	Inoculated string       `json:"inoculated,omitempty" jsonschema:"day of inoculation as 2006-01-02, for windows as dates"`
}

// PastBatch is one own batch.
type PastBatch struct {
	Recipe figure.Label `json:"recipe,omitempty" jsonschema:"what it was made by"`
	From   float64      `json:"from" jsonschema:"day of the last visit that did not show the stage, from inoculation"`
	To     *float64     `json:"to,omitempty" jsonschema:"day of the first visit that showed it; a batch without it is left out"`
}

// DaysResult is when the stage will come, in days from inoculation.
type DaysResult struct {
	MedianDay float64   `json:"median_day"`
	Half      DayWindow `json:"window_50"` // 1 of 2 batches falls inside
	Most      DayWindow `json:"window_80"` // 4 of 5
	Nearly    DayWindow `json:"window_95"` // 19 of 20
	OwnShare  float64   `json:"own_share"` // how far it leans on this recipe's own batches, 0..1
	Batches   int       `json:"batches"`   // of this recipe
	Others    int       `json:"others"`    // of other recipes
	// LateChance is the chance that the stage would have come by now.
	LateChance float64       `json:"chance_by_now"`
	Dates      *WindowAsDays `json:"dates"` // nil without a day of inoculation
	Sentence   string        `json:"sentence"`
}

// DayWindow is between which days the stage is expected.
type DayWindow struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// WindowAsDays is the window of 4 in 5 on the calendar.
type WindowAsDays struct {
	Low    string `json:"low"`
	Median string `json:"median"`
	High   string `json:"high"`
}

const (
	maxBatches = 2000
	sureLate   = 0.95
	inMost     = 0.8
	inHalf     = 0.5
	tenth      = 1.2815515655446004 // of the normal distribution: 80 % lie within
)

// Days returns the forecast of one stage from published days and own batches.
//
// The published span is taken to hold 4 of 5 farms, and is never believed more
// than a factor of 1.6 either way (95 %). The error is a *figure.Fault.
//
// Source: see Fit.
func Days(in DaysInput) (figure.Answer[DaysResult], error) {
	prior, err := in.prior()
	if err != nil {
		return figure.Answer[DaysResult]{}, err
	}
	groups, r, left, err := in.groups()
	if err != nil {
		return figure.Answer[DaysResult]{}, err
	}
	m, err := Fit(prior, groups)
	if err != nil {
		return figure.Answer[DaysResult]{}, err
	}
	f := m.Of(0)
	r.LateChance = f.Came(in.PassedDays)
	f = f.After(in.PassedDays)
	r.MedianDay, r.OwnShare = f.Quantile(0.5), f.Own()
	r.Half, r.Most, r.Nearly = DayWindow(f.Window(inHalf)), DayWindow(f.Window(inMost)), DayWindow(f.Window(0.95))
	if r.Dates, err = in.dates(r); err != nil {
		return figure.Answer[DaysResult]{}, err
	}
	r.Sentence = r.say()
	return figure.Answer[DaysResult]{Result: r, Cautions: in.cautions(r, left), Working: in.working(prior, m, r)}, nil
}

func (in DaysInput) prior() (Prior, error) {
	if !(in.BookLow >= minDays && in.BookHigh >= in.BookLow && in.BookHigh <= maxDays) {
		return Prior{}, figure.Faultf("book_low", "write the published days, low and high, such as 18 and 26", "published days of %g to %g can not be begun from", in.BookLow, in.BookHigh)
	}
	if !(in.PassedDays >= 0 && in.PassedDays <= maxDays) {
		return Prior{}, figure.Faultf("passed_days", "write the days since inoculation, 0 to 2000", "%g days have passed", in.PassedDays)
	}
	return PublishedPrior(in.BookLow, in.BookHigh), nil
}

// groups puts the batches by recipe, that which is waited for first, and
// returns how many were left out.
func (in DaysInput) groups() (groups [][]Span, r DaysResult, left int, err error) {
	if len(in.Batches) > maxBatches {
		return nil, r, 0, figure.Faultf("batches", "give 2000 at most", "%d batches are given", len(in.Batches))
	}
	index := map[figure.Label]int{in.Recipe: 0}
	groups = [][]Span{nil}
	for i, b := range in.Batches {
		field := fmt.Sprintf("batches[%d].to", i)
		switch {
		case !(b.From >= 0 && b.From <= maxDays):
			return nil, r, 0, figure.Faultf(fmt.Sprintf("batches[%d].from", i), "write the day from inoculation, 0 to 2000", "a batch was last without the stage on day %g", b.From)
		case b.To == nil:
			left++
			continue
		case !(*b.To >= minDays && *b.To <= maxDays):
			return nil, r, 0, figure.Faultf(field, "write the day from inoculation, 0.25 to 2000", "a batch first showed the stage on day %g", *b.To)
		case *b.To <= b.From:
			return nil, r, 0, figure.Faultf(field, "check both visits: which of the two is right?", "a batch showed the stage on day %g and did not on day %g", *b.To, b.From)
		}
		g, known := index[b.Recipe]
		if !known {
			g = len(groups)
			index[b.Recipe] = g
			groups = append(groups, nil)
		}
		groups[g] = append(groups[g], Span{b.From, *b.To})
		if g == 0 {
			r.Batches++
		} else {
			r.Others++
		}
	}
	return groups, r, left, nil
}

func (in DaysInput) dates(r DaysResult) (*WindowAsDays, error) {
	if in.Inoculated == "" {
		return nil, nil
	}
	day, err := time.Parse(time.DateOnly, in.Inoculated)
	if err != nil {
		return nil, figure.Faultf("inoculated", "write it as 2026-05-30", "%.40q is no day", in.Inoculated)
	}
	on := func(days float64) string { return day.AddDate(0, 0, int(math.Round(days))).Format(time.DateOnly) }
	return &WindowAsDays{on(r.Most.Low), on(r.MedianDay), on(r.Most.High)}, nil
}

func (r DaysResult) say() string {
	if d := r.Dates; d != nil {
		return fmt.Sprintf("Expected from %s to %s, most likely about %s; 4 of 5 batches fall inside.", d.Low, d.High, d.Median)
	}
	return fmt.Sprintf("Expected between day %.0f and day %.0f, most likely about day %.0f; 4 of 5 batches fall inside.", r.Most.Low, r.Most.High, r.MedianDay)
}

func (in DaysInput) cautions(r DaysResult, left int) []figure.Caution {
	out := []figure.Caution{}
	if r.Batches == 0 {
		out = append(out, figure.Caution{
			Code: "from_the_book", Title: "No own batch of this recipe", Weight: figure.Note,
			Text: "The window rests on the published days and on your other recipes. It leans on your own as soon as there are any.",
		})
	}
	if in.Source == "" {
		out = append(out, figure.Caution{
			Code: "no_source", Title: "Published where?", Weight: figure.Note, Text: "The published days are given without a source. Write where they are from, so that they can be looked at again.",
		})
	}
	if left > 0 {
		out = append(out, figure.Caution{
			Code: "batches_left_out", Title: "Batches without the stage", Weight: figure.Care,
			Text: fmt.Sprintf("%s no first visit with the stage and no part here. If those are the slow ones, the window lies too early.", figure.Of(left, len(in.Batches), "batch", "has", "have")),
		})
	}
	if r.LateChance > sureLate {
		out = append(out, figure.Caution{
			Code: "late", Title: "Late", Weight: figure.Care,
			Text: fmt.Sprintf("By day %g the stage would have come in %.0f of 100 batches. Look at it; the window below only says what is left.", in.PassedDays, 100*r.LateChance),
		})
	}
	return out
}

func (in DaysInput) working(prior Prior, m *Model, r DaysResult) []figure.Step {
	between, within, middle := m.Spreads()
	source := in.Source
	if source == "" {
		source = "not given"
	}
	return []figure.Step{
		{Step: "published days, the middle", Formula: "√(low · high)", Value: prior.Days, Unit: "days", Source: source},
		{Step: "how far the book may be off", Formula: "max(0.25, ln(high/low)/(2 · 1.28))", Value: prior.Book, Unit: "log days", Source: "doc/methods/days.md"},
		{Step: "own middle", Formula: "posterior mean of log days", Value: math.Exp(middle), Unit: "days", Source: "forecast.Fit"},
		{Step: "spread between recipes", Formula: "posterior mean", Value: between, Unit: "log days", Source: "forecast.Fit"},
		{Step: "spread within a recipe", Formula: "posterior mean", Value: within, Unit: "log days", Source: "forecast.Fit"},
		{Step: "leans on own batches", Formula: "Σ p·τ²/(τ² + variance of the own mean)", Value: r.OwnShare, Unit: "", Source: "forecast.Fit"},
	}
}
