package survive

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// StagesInput asks when jars came to one stage.
type StagesInput struct {
	Rows    []StageRow   `json:"rows" jsonschema:"one row for each jar, for one stage"`
	At      *float64     `json:"at,omitempty" jsonschema:"day on which all jars that are left were last looked at; as their rows say if left out"`
	Control figure.Label `json:"control,omitempty" jsonschema:"arm that the others are compared with; the first if left out"`
	Seed    *uint64      `json:"seed,omitempty" jsonschema:"of the deals of the permutation test where there are too many to count; 1 if left out"`
}

// StageRow is one jar.
type StageRow struct {
	Jar  figure.Label `json:"jar" jsonschema:"its code or number"`
	Arm  figure.Label `json:"arm" jsonschema:"what is compared"`
	From float64      `json:"from" jsonschema:"day of the last visit that did not show the stage, from inoculation; 0 if none"`
	To   *float64     `json:"to,omitempty" jsonschema:"day of the first visit that showed it; null while not seen"`
	Lost bool         `json:"lost,omitempty" jsonschema:"the jar was lost before the stage was seen; from is then its last good visit"`
}

// StagesResult says when the stage came.
type StagesResult struct {
	Arms       []StageArm        `json:"arms"`
	Comparison []StageComparison `json:"comparison"` // of each arm with the control
	Shape      *Shape            `json:"shape"`      // that fits the visits best; nil if none can be said
	Sentence   string            `json:"sentence"`
}

// StageArm is one arm.
type StageArm struct {
	Name    figure.Label `json:"name"`
	Jars    int          `json:"jars"`
	Seen    int          `json:"seen"`
	Waiting int          `json:"waiting"`
	Lost    int          `json:"lost"`
	Median  *Band        `json:"median"` // days by which half come; nil if nothing was seen
	// ShareByDay is the share that came by each day that a visit resolves.
	ShareByDay []ShareByDay `json:"share_by_day"`
}

// Band is a value with its 95 % interval; an end that is open is nil.
type Band struct {
	Value float64  `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

// String is the figure with its interval, as a working shows it.
func (b *Band) String() string {
	switch {
	case b == nil:
		return "not known"
	case b.Low == nil || b.High == nil:
		return fmt.Sprintf("%.4g", b.Value)
	}
	return fmt.Sprintf("%.4g (%.4g to %.4g)", b.Value, *b.Low, *b.High)
}

// ShareByDay is what is known of the share that came by a day, 0..1: at least
// low, at most high.
type ShareByDay struct {
	Day  float64 `json:"day"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// StageComparison is how many times as long one arm takes as another.
type StageComparison struct {
	Arms  [2]figure.Label `json:"arms"` // the second is the control
	Ratio *Band           `json:"ratio"`
	// P is the permutation p of Sun's scores: how often lots alone would set the
	// arms so far apart. Counted says whether all deals were counted.
	P       *float64 `json:"p"`
	Counted bool     `json:"counted"`
	// Worst is the ratio if the lost jars of one arm had come at once and those of
	// the other never, both ways; nil if none was lost.
	Worst *WorstRatio `json:"worst"`
}

// WorstRatio bounds what lost jars could do to a ratio.
type WorstRatio struct {
	Low  *float64 `json:"low"`
	High *float64 `json:"high"`
}

// Limits of the calculator.
const (
	maxStageRows = 10000
	maxStageArms = 12
	maxStageDay  = 2000
	drawnDeals   = 99999
	level        = 0.95
)

// staging is the input in columns.
type staging struct {
	in    StagesInput
	names []figure.Label
	spans []Span
	arm   []int
	fit   *Fit
	other *Fit
	out   []figure.Caution
}

// Stages returns when jars came to a stage, by arm: the median, the share that
// came by each day, and how many times as long each arm takes as the control.
// A stage came between the last visit without it and the first with it. A lost
// jar counts as not come by its last good visit.
//
// The error is a *figure.Fault: a jar seen backwards or twice is asked about,
// never mended.
//
// Source: see FitTurnbull, FitAFT and SunScores.
func Stages(in StagesInput) (figure.Answer[StagesResult], error) {
	s, err := newStaging(in)
	if err != nil {
		return figure.Answer[StagesResult]{}, err
	}
	s.shape()
	r := StagesResult{Arms: []StageArm{}, Comparison: []StageComparison{}}
	for a := range s.names {
		r.Arms = append(r.Arms, s.describe(a))
	}
	for a := 1; a < len(s.names); a++ {
		r.Comparison = append(r.Comparison, s.compare(a))
	}
	if s.fit != nil {
		r.Shape = &s.fit.Shape
	}
	s.doubt(r)
	r.Sentence = s.say(r)
	return figure.Answer[StagesResult]{Result: r, Cautions: s.out, Working: s.working(r)}, nil
}

func newStaging(in StagesInput) (*staging, error) {
	s := &staging{in: in}
	if len(in.Rows) == 0 || len(in.Rows) > maxStageRows {
		return nil, figure.Faultf("rows", "give one row for each jar, 10000 at most", "%d rows are given", len(in.Rows))
	}
	rowOf := map[figure.Label]int{}
	if in.Control != "" {
		s.names = []figure.Label{in.Control}
	}
	for i, row := range in.Rows {
		span, err := row.span(i, in.At)
		if err != nil {
			return nil, err
		}
		if before, twice := rowOf[row.Jar]; twice && row.Jar != "" {
			return nil, figure.Faultf(at(i, "jar"), "say which of the two is right, and leave the other out", "jar %s is in row %d and in row %d", row.Jar, before+1, i+1)
		}
		rowOf[row.Jar] = i
		a := slices.Index(s.names, row.Arm)
		if a < 0 {
			a = len(s.names)
			s.names = append(s.names, row.Arm)
		}
		s.spans, s.arm = append(s.spans, span), append(s.arm, a)
	}
	if in.Control != "" && !slices.Contains(s.arm, 0) {
		return nil, figure.Faultf("control", "name one of the arms", "no jar is in arm %s", in.Control)
	}
	if len(s.names) > maxStageArms {
		return nil, figure.Faultf("rows", "compare 12 arms at most", "there are %d arms", len(s.names))
	}
	return s, nil
}

func at(i int, key string) string { return fmt.Sprintf("rows[%d].%s", i, key) }

// span checks a row. What contradicts itself is asked about.
func (row StageRow) span(i int, now *float64) (Span, error) {
	if !(row.From >= 0 && row.From <= maxStageDay) {
		return Span{}, figure.Faultf(at(i, "from"), "write the day from inoculation, 0 to 2000", "jar %s was last without the stage on day %g", row.Jar, row.From)
	}
	if row.To != nil {
		switch to := *row.To; {
		case !(to > 0 && to <= maxStageDay):
			return Span{}, figure.Faultf(at(i, "to"), "write the day from inoculation, up to 2000; null while not seen", "jar %s first showed the stage on day %g", row.Jar, to)
		case to < row.From:
			return Span{}, figure.Faultf(at(i, "to"), "check both visits: which of the two is right?", "jar %s showed the stage on day %g and did not on day %g, which is later", row.Jar, to, row.From)
		case to == row.From:
			return Span{}, figure.Faultf(at(i, "to"), "check both visits: which of the two is right?", "jar %s did and did not show the stage on day %g", row.Jar, to)
		case row.Lost:
			return Span{}, figure.Faultf(at(i, "lost"), "if it was lost after the stage, leave lost out; if before, leave to out", "jar %s was lost before the stage and showed it on day %g", row.Jar, to)
		case now != nil && to > *now:
			return Span{}, figure.Faultf(at(i, "to"), "check the day", "jar %s showed the stage on day %g, after day %g on which it was last looked at", row.Jar, to, *now)
		}
		return Span{row.From, *row.To}, nil
	}
	s := Span{row.From, math.Inf(1)}
	if now != nil && !row.Lost {
		if !(*now >= row.From && *now <= maxStageDay) {
			return Span{}, figure.Faultf("at", "write the day of the last look, no earlier than any visit", "jar %s was looked at on day %g, after day %g", row.Jar, row.From, *now)
		}
		s.After = *now
	}
	return s, nil
}

// shape fits both shapes to the arms that can have a level and keeps the likelier.
func (s *staging) shape() {
	var err error
	if s.fit, err = s.fitted(Weibull, s.spans); err != nil {
		s.fit = nil
		s.refuse(err)
		return
	}
	if s.other, err = s.fitted(Lognormal, s.spans); err == nil && s.other.LogLik > s.fit.LogLik {
		s.fit, s.other = s.other, s.fit
	}
}

// placedArms numbers anew the arms that can have a level of their own: the stage
// was seen in them, and some jar was looked at before it came. -1 for others.
func (s *staging) placedArms() (number []int, arms int) {
	number = make([]int, len(s.names))
	for a := range number {
		number[a] = -1
		if seen, before := s.looks(a); seen && before {
			number[a] = arms
			arms++
		}
	}
	return number, arms
}

// looks reports whether the stage was seen in an arm, and whether any of its jars
// was looked at before it came.
func (s *staging) looks(a int) (seen, before bool) {
	for i, span := range s.spans {
		if s.arm[i] == a {
			seen, before = seen || span.seen(), before || span.After > 0
		}
	}
	return seen, before
}

func (s *staging) fitted(shape Shape, spans []Span) (*Fit, error) {
	number, arms := s.placedArms()
	if arms == 0 {
		return nil, ErrFew
	}
	var kept []Span
	var arm []int
	for i, span := range spans {
		if a := number[s.arm[i]]; a >= 0 {
			kept, arm = append(kept, span), append(arm, a)
		}
	}
	return FitAFT(shape, kept, arm, arms)
}

func (s *staging) describe(a int) StageArm {
	out := StageArm{Name: s.names[a], ShareByDay: []ShareByDay{}}
	var spans []Span
	for i, span := range s.spans {
		if s.arm[i] != a {
			continue
		}
		spans = append(spans, span)
		out.Jars++
		switch {
		case span.seen():
			out.Seen++
		case s.in.Rows[i].Lost:
			out.Lost++
		default:
			out.Waiting++
		}
	}
	if number, _ := s.placedArms(); s.fit != nil && number[a] >= 0 {
		day, low, high := s.fit.Quantile(number[a], 0.5, level)
		out.Median = band(day, low, high)
	}
	out.ShareByDay = shares(spans)
	return out
}

// shares returns Turnbull's shares on the days of the visits.
func shares(spans []Span) []ShareByDay {
	out := []ShareByDay{}
	t, err := FitTurnbull(spans)
	if err != nil {
		return out
	}
	var days []float64
	for _, s := range spans {
		days = append(days, s.After)
		if s.seen() {
			days = append(days, s.By)
		}
	}
	slices.Sort(days)
	for _, d := range slices.Compact(days) {
		low, high := t.Between(d)
		out = append(out, ShareByDay{d, low, high})
	}
	return out
}

func band(value, low, high float64) *Band {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return nil
	}
	return &Band{Value: value, Low: finite(low), High: finite(high)}
}

// finite returns a pointer to x, nil for a ratio end that is open.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) || x == 0 {
		return nil
	}
	return &x
}

func (s *staging) compare(a int) StageComparison {
	out := StageComparison{Arms: [2]figure.Label{s.names[a], s.names[0]}}
	number, _ := s.placedArms()
	if s.fit != nil && number[a] >= 0 && number[0] >= 0 {
		r := s.fit.Ratio(number[a], number[0], level)
		out.Ratio = band(r.Value, r.Low, r.High)
		out.Worst = s.worst(a, number)
	}
	out.P, out.Counted = s.chance(a)
	return out
}

// chance is the permutation p of Sun's scores of two arms.
func (s *staging) chance(a int) (*float64, bool) {
	var spans []Span
	var arm []int
	for i, span := range s.spans {
		if s.arm[i] == 0 || s.arm[i] == a {
			spans = append(spans, span)
			arm = append(arm, min(s.arm[i], 1))
		}
	}
	scores, err := SunScores(spans)
	if err != nil || stats.Variance(scores) < 1e-12 {
		return nil, false
	}
	block := make([]int, len(arm))
	p, counted, err := stats.PermutationBlocked(scores, arm, block)
	if err != nil || !counted {
		seed := uint64(1)
		if s.in.Seed != nil {
			seed = *s.in.Seed
		}
		p, err = stats.PermutationDraws(scores, arm, block, drawnDeals, seed)
	}
	if err != nil {
		return nil, false
	}
	return &p, counted
}

// worst bounds the ratio by what lost jars could have done: come right after
// their last good visit in one arm, and not before the last visit of all in
// the other.
func (s *staging) worst(a int, number []int) *WorstRatio {
	lost, last := false, 0.0
	for i, span := range s.spans {
		lost = lost || s.in.Rows[i].Lost && (s.arm[i] == a || s.arm[i] == 0)
		last = math.Max(last, span.After)
		if span.seen() {
			last = math.Max(last, span.By)
		}
	}
	if !lost {
		return nil
	}
	bound := func(early int) *float64 {
		spans := slices.Clone(s.spans)
		for i := range spans {
			if !s.in.Rows[i].Lost {
				continue
			}
			if s.arm[i] == early {
				spans[i].By = spans[i].After + 1
			} else {
				spans[i].After = last
			}
		}
		f, err := s.fitted(s.fit.Shape, spans)
		if err != nil {
			return nil
		}
		return finite(math.Exp(f.Level[number[a]] - f.Level[number[0]]))
	}
	return &WorstRatio{Low: bound(a), High: bound(0)}
}

func (s *staging) say(r StagesResult) string {
	if len(r.Comparison) == 1 && r.Comparison[0].Ratio != nil {
		c := r.Comparison[0]
		if low, high := c.Ratio.Low, c.Ratio.High; low != nil && high != nil {
			out := fmt.Sprintf("%s takes %.2f times as long as %s (95 %% interval %.2f to %.2f)", c.Arms[0], c.Ratio.Value, c.Arms[1], *low, *high)
			if *low <= 1 && *high >= 1 {
				return out + ": not distinguishable."
			}
			return out + "."
		}
		return fmt.Sprintf("%s and %s: the visits leave the ratio open on one side.", c.Arms[0], c.Arms[1])
	}
	if a := r.Arms[0]; a.Median != nil && a.Median.Low != nil && a.Median.High != nil {
		return fmt.Sprintf("Half of %s came by day %.1f (95 %% interval %.1f to %.1f).", nameOr(a.Name), a.Median.Value, *a.Median.Low, *a.Median.High)
	}
	return "The visits do not say yet when half of the jars come."
}

func nameOr(name figure.Label) string {
	if name == "" {
		return "the jars"
	}
	return string(name)
}

func (s *staging) working(r StagesResult) []figure.Step {
	out := []figure.Step{{
		Step: "a jar's stage", Formula: "later than from, no later than to; later than from where to is null",
		Value: len(s.spans), Unit: "jars", Source: "",
	}}
	if s.fit == nil {
		return out
	}
	shapes := []*Fit{s.fit}
	if s.other != nil {
		shapes = append(shapes, s.other)
	}
	for _, f := range shapes {
		out = append(out, figure.Step{Step: "log likelihood, " + string(f.Shape), Formula: "Σ ln(S(from) − S(to))", Value: f.LogLik, Unit: "", Source: "Kalbfleisch and Prentice (2002), 3.6"})
	}
	out = append(out, figure.Step{Step: "scale of log days", Formula: "most likely", Value: s.fit.Scale, Unit: "", Source: ""})
	for _, c := range r.Comparison {
		out = append(out,
			figure.Step{Step: fmt.Sprintf("ratio %s to %s", c.Arms[0], c.Arms[1]), Formula: "exp(level − level of control), interval by the profile", Value: c.Ratio, Unit: "", Source: "survive.FitAFT"},
			figure.Step{Step: "p by lot", Formula: "share of deals with a sum of scores as far out", Value: c.P, Unit: "", Source: "Sun (1996); Fay and Shaw (2010)"})
	}
	return out
}
