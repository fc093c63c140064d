package trialstat

import (
	"fmt"
	"math"

	"pinset/internal/figure"
)

// defaultCVPct is the spread between jars of one arm that a plan counts with as
// long as the grower has none of their own: a common planning default. Bags of
// one mix varied by 9 to 20 % in one published table and by 3 to 36 % in
// another (oyster on paper, on straw).
const defaultCVPct = 25

// PlanInput is a trial before it starts.
type PlanInput struct {
	Arms       int        `json:"arms"`
	JarsPerArm int        `json:"jars_per_arm"`          // jars started
	CVPct      *float64   `json:"cv_pct,omitempty"`      // of picked jars; 25 until there is own history
	LossPct    *float64   `json:"loss_pct,omitempty"`    // share of jars that is usually lost; 0
	Primary    string     `json:"primary,omitempty"`     // what decides, as of CompareInput; inoculated
	Blocks     *int       `json:"blocks,omitempty"`      // cooks × layers; 1
	MattersPct *float64   `json:"matters_pct,omitempty"` // smallest difference that matters, of shares and scores in points; 20
	Efficiency *float64   `json:"efficiency,omitempty"`  // of the layout; 1
	Units      *PlanUnits `json:"units,omitempty"`       // nil where each jar is a unit of its own
	Cooks      int        `json:"cooks,omitempty"`       // that all arms stand in; from three on they are what the verdict counts
}

// PlanResult is what a trial as planned can show, per jar inoculated.
type PlanResult struct {
	Power             *float64 `json:"power"` // chance to notice matters_pct
	DetectablePct     *float64 `json:"detectable_pct"`
	DetectableDownPct *float64 `json:"detectable_down_pct"`
	JarsForMatters    *int     `json:"jars_for_matters"` // to start per arm, with 80 % power
	// CVInoculatedPct is the spread that the verdict will meet: lost jars count
	// 0 g, so losses add to it.
	CVInoculatedPct float64 `json:"cv_inoculated_pct"`
	// LeftJars is how many jars every arm keeps, or more, in 9 of 10 such trials;
	// nil if that may be none.
	LeftJars *int `json:"left_jars"`
	// CooksForMatters is how many cooks, each with as many jars, matters_pct needs, with
	// 80 % power; nil where the verdict counts jars, and above 200.
	CooksForMatters *int `json:"cooks_for_matters"`
	// UnitsForMatters is how many cooks, shelves or makings to a level matters_pct
	// needs, with 80 % power; nil where jars are the units.
	UnitsForMatters *int   `json:"units_for_matters"`
	Sentence        string `json:"sentence"`
}

// Plan says what a trial as planned can show. Where the verdict is taken per jar
// inoculated, losses, which count 0 g, widen the spread: with a share l lost, CV² of
// all jars is (1 + CV²)/(1 − l) − 1. Per jar picked they leave fewer jars. Spread is
// taken to grow with the mean (the log scale of Power).
//
// The error is a *figure.Fault.
//
// Source: Power; the spread with zeros is that of a mixture, its second moment
// over the square of its first.
func Plan(in PlanInput) (figure.Answer[PlanResult], error) {
	cv, loss := float64(defaultCVPct), 0.0
	if in.CVPct != nil {
		cv = *in.CVPct
	}
	if in.LossPct != nil {
		loss = *in.LossPct
	}
	if !(loss >= 0 && loss < 100) {
		return figure.Answer[PlanResult]{}, figure.Faultf("loss_pct", "write the share of jars that are lost, from 0 up", "loss_pct is %s, not between 0 and 100", plain(loss))
	}
	if in.MattersPct != nil && !(*in.MattersPct > 0) {
		return figure.Answer[PlanResult]{}, figure.Faultf("matters_pct", "write the smallest difference that matters to you, such as 20", "matters_pct is %s, not above 0", plain(*in.MattersPct))
	}
	if !(cv > 0 && cv < 1000) {
		return figure.Answer[PlanResult]{}, figure.Faultf("cv_pct", "write the spread between jars of one arm, such as 25", "cv_pct is %s, not between 0 and 1000", plain(cv))
	}
	what, err := primaryOf(in.Primary)
	if err != nil {
		return figure.Answer[PlanResult]{}, err
	}
	all := 100 * math.Sqrt((1+cv*cv/1e4)/(1-loss/100)-1)
	met := min(all, 999)
	if in.Primary == PerPicked {
		met = cv
	}
	var out figure.Answer[PlanResult]
	if what.means() || in.Units != nil {
		out, err = in.power(met, loss/100)
	} else {
		out, err = in.powerOfOrder(loss / 100)
	}
	if err != nil {
		return out, err
	}
	out.Result.CVInoculatedPct, out.Result.LeftJars = all, jarsLeft(in.JarsPerArm, in.Arms, loss/100)
	out.Working = append([]figure.Step{{
		Step: "spread per jar inoculated", Formula: "√((1 + CV²)/(1 − loss) − 1)", Value: all, Unit: "%", Source: "mixture with zeros",
	}}, out.Working...)
	if in.CVPct == nil && what.means() {
		out.Cautions = append(out.Cautions, figure.Caution{
			Code: "cv_assumed", Title: "The spread is assumed", Weight: figure.Note,
			Text: fmt.Sprintf("A spread of %d %% between jars is a common planning default. Your own picked jars replace it after some 20 of them.", defaultCVPct),
		})
	}
	return out, nil
}

// power is Plan for the spread that the verdict meets.
func (in PlanInput) power(cv, loss float64) (figure.Answer[PlanResult], error) {
	if in.Units != nil {
		if in.Primary == PerPicked {
			u := *in.Units
			u.Jars *= 1 - loss
			in.Units = &u
		}
		return in.powerOfUnits(cv)
	}
	jars := in.JarsPerArm
	if in.Primary == PerPicked {
		jars = max(1, int(math.Round(float64(jars)*(1-loss))))
	}
	if in.Cooks >= leastCooks {
		started := in.JarsPerArm
		in.JarsPerArm = jars
		out, err := in.powerOfCooks(cv)
		if n := out.Result.JarsForMatters; n != nil && jars < started {
			out.Result.JarsForMatters = toStart(*n, in.Arms, loss)
		}
		return out, err
	}
	p, err := Power(PowerInput{Arms: in.Arms, JarsPerArm: jars, CVPct: cv, EffectPct: in.MattersPct, Blocks: in.Blocks, Efficiency: in.Efficiency, Scale: "log"})
	out := figure.Answer[PlanResult]{Cautions: p.Cautions, Working: p.Working, Result: PlanResult{
		Power: p.Result.Power, DetectablePct: p.Result.DetectablePct, DetectableDownPct: p.Result.DetectableDownPct,
		JarsForMatters: p.Result.JarsForEffect, Sentence: p.Result.Sentence,
	}}
	if n := out.Result.JarsForMatters; n != nil && in.Primary == PerPicked {
		out.Result.JarsForMatters = toStart(*n, in.Arms, loss)
	}
	return out, err
}

// jarsLeft returns the most jars that every arm keeps in 9 of 10 trials, of so many
// started.
func jarsLeft(started, arms int, loss float64) *int {
	for n := started; n > 0; n-- {
		if m := toStart(n, arms, loss); m != nil && *m <= started {
			return &n
		}
	}
	return nil
}
