package trialstat

import (
	"fmt"
	"math"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// What a plan counts with before there are own jars, and how many own ones weigh
// as much: a spread of 25 % and a loss of 10 % (common practice, no source).
const (
	defaultLossPct = 10
	priorFreedom   = 10 // degrees of freedom that the default spread is worth
	priorJars      = 10 // jars that the default loss is worth
)

// PastArm is the jars of one arm, or of one recipe, in one past batch.
type PastArm struct {
	Inoculated int       `json:"inoculated"`
	Lost       int       `json:"lost"`
	Grams      []float64 `json:"grams_g"` // of the picked jars, one by one; above 0
}

// SpreadInput is what past batches gave, one entry for each arm of each.
type SpreadInput struct {
	Arms        []PastArm `json:"arms"`
	DefaultCV   *float64  `json:"default_cv_pct,omitempty"`   // 25 if left out
	DefaultLoss *float64  `json:"default_loss_pct,omitempty"` // 10 if left out
}

// SpreadResult is the spread and the loss to plan with. OwnWeight is the share of
// the figure that is the grower's own, 0 with no past jars.
type SpreadResult struct {
	CVPct         float64  `json:"cv_pct"`
	OwnCVPct      *float64 `json:"own_cv_pct"` // nil without two picked jars in some arm
	CVOwnWeight   float64  `json:"cv_own_weight"`
	CVJars        int      `json:"cv_jars"` // picked jars that it rests on
	LossPct       float64  `json:"loss_pct"`
	OwnLossPct    *float64 `json:"own_loss_pct"`
	LossOwnWeight float64  `json:"loss_own_weight"`
	LossJars      int      `json:"loss_jars"`
	Sentence      string   `json:"sentence"`
}

// Spread returns the spread between jars of one arm and the loss rate to plan
// with: the grower's own, pooled within the arms of past batches, drawn towards a
// default while there are few. CV² is the mean of the own one, weighted by its
// degrees of freedom, and the default, worth 10; the loss that of own jars and 10
// at the default.
//
// The error is a *figure.Fault.
//
// Source: the conjugate means, scaled inverse χ² and beta (Gelman and others,
// Bayesian Data Analysis, 3rd ed. 2013, 2.4 and 2.6; from memory).
func Spread(in SpreadInput) (figure.Answer[SpreadResult], error) {
	cv, loss := float64(defaultCVPct), float64(defaultLossPct)
	if in.DefaultCV != nil {
		cv = *in.DefaultCV
	}
	if in.DefaultLoss != nil {
		loss = *in.DefaultLoss
	}
	if !(cv > 0 && cv < 1000) {
		return figure.Answer[SpreadResult]{}, figure.Faultf("default_cv_pct", "write a spread such as 25", "the default spread is %s %%, not between 0 and 1000", plain(cv))
	}
	if !(loss >= 0 && loss < 100) {
		return figure.Answer[SpreadResult]{}, figure.Faultf("default_loss_pct", "write a share such as 10", "the default loss is %s %%, not between 0 and 100", plain(loss))
	}
	squares, df := 0.0, 0
	var r SpreadResult
	lostJars := 0
	for i, a := range in.Arms {
		if err := a.check(i); err != nil {
			return figure.Answer[SpreadResult]{}, err
		}
		r.LossJars += a.Inoculated
		lostJars += a.Lost
		if n := len(a.Grams); n > 1 {
			mean := stats.Mean(a.Grams)
			squares += stats.Variance(a.Grams) / (mean * mean) * float64(n-1)
			df += n - 1
			r.CVJars += n
		}
	}
	if df > 0 {
		r.OwnCVPct = maybe(100 * math.Sqrt(squares/float64(df)))
	}
	if r.LossJars > 0 {
		r.OwnLossPct = maybe(100 * float64(lostJars) / float64(r.LossJars))
	}
	r.CVOwnWeight = float64(df) / float64(df+priorFreedom)
	r.LossOwnWeight = float64(r.LossJars) / float64(r.LossJars+priorJars)
	r.CVPct = math.Sqrt((1e4*squares + priorFreedom*cv*cv) / float64(df+priorFreedom))
	r.LossPct = (100*float64(lostJars) + priorJars*loss) / float64(r.LossJars+priorJars)
	r.Sentence = r.say(cv, loss)
	return figure.Answer[SpreadResult]{Result: r, Cautions: []figure.Caution{}, Working: []figure.Step{
		{Step: "spread to plan with", Formula: "√((df·own² + 10·default²)/(df + 10))", Value: r.CVPct, Unit: "%", Source: "scaled inverse χ², conjugate"},
		{Step: "loss to plan with", Formula: "(lost + 10·default)/(jars + 10)", Value: r.LossPct, Unit: "%", Source: "beta, conjugate"},
	}}, nil
}

func (a PastArm) check(i int) error {
	if a.Inoculated < 0 || a.Inoculated > maxJars || a.Lost < 0 || a.Lost+len(a.Grams) > a.Inoculated {
		return figure.Faultf(fmt.Sprintf("arms[%d]", i), "count every jar inoculated, the lost ones too", "past arm %d has %d jars, %d lost and %d weighed", i+1, a.Inoculated, a.Lost, len(a.Grams))
	}
	for _, g := range a.Grams {
		if !(g > 0 && g <= maxGrams) {
			return figure.Faultf(fmt.Sprintf("arms[%d].grams_g", i), "write the grams of picked jars, above 0", "past arm %d has a jar of %s g", i+1, plain(g))
		}
	}
	return nil
}

func (r SpreadResult) say(cv, loss float64) string {
	switch {
	case r.OwnCVPct == nil && r.OwnLossPct == nil:
		return fmt.Sprintf("No jars of your own yet, so the plan counts with a spread of %s %% and a loss of %s %%, which are common in planning.", plain(cv), plain(loss))
	case r.OwnCVPct == nil:
		return fmt.Sprintf("No two picked jars of one arm yet, so the spread is the usual %s %%; the loss of %s rests for %s on your own %s.",
			plain(cv), percent(r.LossPct), percent(100*r.LossOwnWeight), jars(r.LossJars))
	}
	return fmt.Sprintf("The spread of %s rests for %s on your own %s, the rest on the usual %s %%; the loss of %s for %s on your own %s.",
		percent(r.CVPct), percent(100*r.CVOwnWeight), jars(r.CVJars), plain(cv), percent(r.LossPct), percent(100*r.LossOwnWeight), jars(r.LossJars))
}
