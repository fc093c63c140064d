package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/calc/growth"
	"pinset/internal/calc/survive"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// TrialDays is when the jars of a trial came to each stage, and how they were
// covered.
type TrialDays struct {
	Came      []StageCount  `json:"came"`   // stages that at least one jar came to, in their order
	Stages    []StageDays   `json:"stages"` // those that were asked for
	Cover     *CoverDays    `json:"cover"`  // nil if no cover between 0 and 100 % was read
	Questions []DayQuestion `json:"questions"`
	Blind     bool          `json:"blind"` // arms go by letters, and none is compared
}

// StageCount is how many jars came to a stage.
type StageCount struct {
	Stage lab.Stage `json:"stage"`
	Jars  int       `json:"jars"`
	Of    int       `json:"of"`
}

// FurthestStage asks TrialDays for the one stage that tells most: the last
// that half of the jars came to, else the last of all. Ready to pick is often
// known by the pick only, and stands back.
const FurthestStage lab.Stage = "furthest"

func furthest(came []StageCount) []lab.Stage {
	for _, c := range slices.Backward(came) {
		if 2*c.Jars >= c.Of && c.Stage != lab.Ready {
			return []lab.Stage{c.Stage}
		}
	}
	if len(came) == 0 {
		return nil
	}
	return []lab.Stage{came[len(came)-1].Stage}
}

// StageDays is when one stage came.
type StageDays struct {
	Stage  lab.Stage                           `json:"stage"`
	Out    int                                 `json:"left_out"` // jars about which a question is open
	Answer figure.Answer[survive.StagesResult] `json:"answer"`
}

// Says tells in words how many times as long each arm takes as the usual one,
// one sentence for each; of a single arm, or where nothing can be compared,
// what is known instead.
func (d StageDays) Says() []string {
	var out []string
	for _, c := range d.Answer.Result.Comparison {
		if c.Ratio == nil || c.Ratio.Low == nil || c.Ratio.High == nil {
			continue
		}
		text := fmt.Sprintf("%s takes %s times as long as %s to %s, %s to %s", c.Arms[0], ratio(c.Ratio.Value), c.Arms[1], d.Stage.Label(), ratio(*c.Ratio.Low), ratio(*c.Ratio.High))
		if *c.Ratio.Low <= 1 && *c.Ratio.High >= 1 {
			text += ": not told apart"
		}
		out = append(out, capital(text)+".")
	}
	if len(out) == 0 {
		out = append(out, d.Answer.Result.Sentence)
	}
	return out
}

// ratio prints a ratio to two decimals, without a nought at the end.
func ratio(x float64) string {
	return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(x, 'f', 2, 64), "0"), ".")
}

// CoverDays is how jars were covered.
type CoverDays struct {
	Out    int                              `json:"left_out"`
	Rows   []growth.GrowRow                 `json:"readings"`
	Answer figure.Answer[growth.GrowResult] `json:"answer"`
}

// Says tells in words how many days later each arm is half covered than the
// usual one, over jars; where nothing can be compared, what is known instead.
func (d CoverDays) Says() []string {
	var out []string
	for _, c := range d.Answer.Result.Comparison {
		if c.Difference == nil || c.Difference.Low == nil || c.Difference.High == nil {
			continue
		}
		text := fmt.Sprintf("%s is half covered %s than %s, %s to %s", c.Arms[0], daysLater(c.Difference.Value), c.Arms[1], daysLater(*c.Difference.Low), daysLater(*c.Difference.High))
		if *c.Difference.Low <= 0 && *c.Difference.High >= 0 {
			text += ": not told apart"
		}
		out = append(out, capital(text)+".")
	}
	if len(out) == 0 {
		out = append(out, d.Answer.Result.Sentence)
	}
	return out
}

func daysLater(x float64) string {
	if x < 0 {
		return fmt.Sprintf("%.1f days sooner", -x)
	}
	return fmt.Sprintf("%.1f days later", x)
}

// StageRatio, StageArm and the like are the figures of a stage.
type (
	StageRatio = survive.StageComparison
	StageArm   = survive.StageArm
	StageShare = survive.ShareByDay
)

// TrialDays returns the days of the trial called name: of the stages named, of
// all that were seen if none is, or of FurthestStage.
func (f *Farm) TrialDays(ctx context.Context, name string, stages ...lab.Stage) (TrialDays, error) {
	ev, err := f.evidenceOf(ctx, name)
	if err != nil {
		return TrialDays{}, err
	}
	return ev.days(stages)
}

// days follows the jars through their stages.
func (ev evidence) days(stages []lab.Stage) (TrialDays, error) {
	courses, ask := coursesOf(ev)
	ask = append(ask, skippedQuestions(courses, lab.Stages)...)
	out := TrialDays{Came: []StageCount{}, Stages: []StageDays{}, Questions: ask, Blind: ev.mask.closed()}
	for _, s := range forecastStages {
		n := StageCount{Stage: s, Of: len(courses)}
		for _, c := range courses {
			if _, came := c.came[s]; came && !c.asked[s] {
				n.Jars++
			}
		}
		if n.Jars > 0 {
			out.Came = append(out.Came, n)
		}
	}
	if len(stages) == 0 {
		for _, n := range out.Came {
			stages = append(stages, n.Stage)
		}
	} else if stages[0] == FurthestStage {
		stages = furthest(out.Came)
	}
	for _, s := range stages {
		d, err := ev.stageDays(courses, s)
		if err != nil {
			return out, err
		}
		if len(d.Answer.Result.Arms) > 0 {
			out.Stages = append(out.Stages, d)
		}
	}
	cover, more, err := ev.coverDays(courses)
	out.Cover, out.Questions = cover, append(out.Questions, more...)
	return out, err
}

// stageDays compares the arms in one stage; its arms are empty if no jar can
// be followed.
func (ev evidence) stageDays(courses []jarCourse, s lab.Stage) (StageDays, error) {
	d := StageDays{Stage: s, Answer: figure.Answer[survive.StagesResult]{Cautions: []figure.Caution{}, Working: []figure.Step{}}}
	in := survive.StagesInput{}
	if ev.allotment != nil {
		in.Seed = &ev.allotment.Seed
	}
	for _, c := range courses {
		if c.asked[s] {
			d.Out++
			continue
		}
		in.Rows = append(in.Rows, c.row(s))
	}
	if len(in.Rows) == 0 {
		return d, nil
	}
	if slices.ContainsFunc(in.Rows, func(r survive.StageRow) bool { return r.Arm == label(ev.usual()) }) {
		in.Control = label(ev.usual())
	}
	var err error
	if d.Answer, err = ev.known.came(in); err != nil {
		return d, fmt.Errorf("days of %s to %s: %w", ev.trial.Name, s, err)
	}
	if ev.mask.closed() {
		d.Answer.Result.Comparison, d.Answer.Working = []survive.StageComparison{}, []figure.Step{}
		d.Answer.Result.Sentence = "This trial is blind: its arms go by letters, and they are compared when the key is opened."
	}
	return d, nil
}

// usual is the arm that the others are compared with.
func (ev evidence) usual() string {
	if ev.trial.Control != "" || len(ev.trial.Arms) == 0 {
		return ev.trial.Control
	}
	return ev.trial.Arms[0].Name
}

// row is what is known of one jar and one stage. A lost jar had not come to it
// by its last good visit.
func (c jarCourse) row(s lab.Stage) survive.StageRow {
	row := survive.StageRow{Jar: label(c.name), Arm: label(c.jar.Arm), From: c.last}
	if came, ok := c.came[s]; ok {
		row.From, row.To = came.after, &came.by
		return row
	}
	if row.Lost = c.jar.Fate == lab.Lost; row.Lost {
		row.From = c.good
	}
	return row
}

// rises reports whether a cover between nothing and all was read on the jar.
func (c jarCourse) rises() bool {
	return slices.ContainsFunc(c.covers, func(r growth.GrowRow) bool { return r.CoverPct > 0 && r.CoverPct < 100 })
}

// coverQuestion asks about readings of cover that contradict each other.
func (c jarCourse) coverQuestion(fault *figure.Fault) DayQuestion {
	what := strings.Replace(fault.What, "jar "+c.name+" ", "it ", 1) // the question says which
	return c.question(true, "%s. %s.", capital(what), capital(fault.Mend))
}

// coverDays fits the cover of each jar and compares arms over jars, nil if no
// jar was read on the rise. A jar whose readings contradict each other is
// asked about and left out.
func (ev evidence) coverDays(courses []jarCourse) (*CoverDays, []DayQuestion, error) {
	out := &CoverDays{Rows: []growth.GrowRow{}}
	in := coverReadings{Control: label(ev.usual())}
	var of []jarCourse
	for _, c := range courses {
		if c.rises() {
			in.Jars, of = append(in.Jars, c.covers), append(of, c)
		}
	}
	fit, err := ev.known.covered(in)
	if err != nil {
		return nil, nil, fmt.Errorf("cover of %s: %w", ev.trial.Name, err)
	}
	var ask []DayQuestion
	for i, fault := range fit.faults {
		if fault != nil {
			ask = append(ask, of[i].coverQuestion(fault))
			out.Out++
		}
	}
	if len(fit.rows) == 0 {
		return nil, ask, nil
	}
	out.Rows, out.Answer = fit.rows, fit.answer
	if ev.mask.closed() {
		out.Answer.Result.Comparison, out.Answer.Working = []growth.GrowComparison{}, []figure.Step{}
		out.Answer.Result.Sentence = "This trial is blind: its arms go by letters, and they are compared when the key is opened."
	}
	return out, ask, nil
}

// Days are the days on which the curves of a picture are drawn: from
// inoculation to the last reading.
func (d CoverDays) Days() []float64 {
	const steps = 30
	last := 0.0
	for _, r := range d.Rows {
		last = math.Max(last, r.Day)
	}
	out := make([]float64, steps+1)
	for i := range out {
		out[i] = last * float64(i) / steps
	}
	return out
}
