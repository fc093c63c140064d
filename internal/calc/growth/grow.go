package growth

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// GrowInput holds how far jars were covered.
type GrowInput struct {
	Rows    []GrowRow    `json:"rows" jsonschema:"one row for each reading of a jar"`
	Control figure.Label `json:"control,omitempty" jsonschema:"arm that the others are compared with; the first if left out"`
}

// GrowRow is one reading.
type GrowRow struct {
	Jar      figure.Label `json:"jar" jsonschema:"its code or number"`
	Arm      figure.Label `json:"arm,omitempty" jsonschema:"what is compared"`
	Day      float64      `json:"day" jsonschema:"days from inoculation"`
	CoverPct float64      `json:"cover_pct" jsonschema:"how much of the jar was covered"`
}

// GrowResult says how soon jars were half covered.
type GrowResult struct {
	Curve      string           `json:"curve"` // logistic or gompertz, for all jars the one that leaves less over
	Jars       []GrowJar        `json:"jars"`
	Arms       []GrowArm        `json:"arms"`
	Comparison []GrowComparison `json:"comparison"`
	Sentence   string           `json:"sentence"`
}

// GrowJar is the curve of one jar; its figures are nil where its readings hold
// none.
type GrowJar struct {
	Jar      figure.Label `json:"jar"`
	Arm      figure.Label `json:"arm"`
	Readings int          `json:"readings"`
	Rising   int          `json:"rising"` // readings from 10 to 90 %
	HalfDay  *Band        `json:"half_day"`
	Rate     *float64     `json:"rate_per_day"`
	FullDay  *float64     `json:"day_of_95_pct"`
	RMSE     *float64     `json:"rmse_pct"`
}

// GrowArm is one arm over its jars.
type GrowArm struct {
	Name    figure.Label `json:"name"`
	Jars    int          `json:"jars"`
	Fitted  int          `json:"fitted"`
	HalfDay *float64     `json:"half_day"`
	SD      *float64     `json:"sd"` // between jars, days
}

// GrowComparison is how many days later one arm is half covered than another.
type GrowComparison struct {
	Arms       [2]figure.Label `json:"arms"` // the second is the control
	Difference *Band           `json:"difference_days"`
	P          *float64        `json:"p"` // Welch, over jars
}

// Band is a value with its 95 % interval; an open end is nil.
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

const (
	level       = 0.95
	maxReadings = 20000
	maxDay      = 2000
	leastRising = 4
	fall        = 30 // points of cover: more is asked about
)

// jar is the readings of one jar, in the order of days.
type jar struct {
	name, arm figure.Label
	x, y      []float64
	rows      []int
	fits      [2]*Fit
}

var curves = [2]Curve{Logistic, Gompertz}

// Grow fits a logistic and a Gompertz curve to the cover of each jar, keeps for
// all jars the one that leaves less over, and compares arms over jars.
//
// The error is a *figure.Fault: a jar that was read twice on one day, or whose
// cover fell, is asked about.
//
// Source: see Least; arms by Welch's t on the half days of jars.
func Grow(in GrowInput) (figure.Answer[GrowResult], error) {
	jars, err := in.read()
	if err != nil {
		return figure.Answer[GrowResult]{}, err
	}
	for _, j := range jars {
		j.fit()
	}
	best, rss := better(jars)
	r := GrowResult{Curve: curves[best].Name, Jars: []GrowJar{}, Arms: []GrowArm{}, Comparison: []GrowComparison{}}
	for _, j := range jars {
		r.Jars = append(r.Jars, j.say(best))
	}
	in.arms(&r)
	r.Sentence = r.say()
	return figure.Answer[GrowResult]{Result: r, Cautions: r.cautions(), Working: r.working(rss)}, nil
}

// better returns the curve that leaves less over, over the jars that hold both; if
// none does, the one that more jars hold.
func better(jars []*jar) (best int, rss [2]float64) {
	var held [2]int
	both := false
	for _, j := range jars {
		for c, f := range j.fits {
			if f != nil {
				held[c]++
			}
		}
		if j.fits[0] != nil && j.fits[1] != nil {
			both = true
			rss[0], rss[1] = rss[0]+j.fits[0].RSS, rss[1]+j.fits[1].RSS
		}
	}
	if both && rss[1] < rss[0] || !both && held[1] > held[0] {
		best = 1
	}
	return best, rss
}

// Check returns the Fault of readings that Grow would refuse, nil if there is
// none, without fitting a curve.
func Check(in GrowInput) error {
	_, err := in.read()
	return err
}

func (in GrowInput) read() ([]*jar, error) {
	if len(in.Rows) == 0 || len(in.Rows) > maxReadings {
		return nil, figure.Faultf("rows", "give one row for each reading, 20000 at most", "%d rows are given", len(in.Rows))
	}
	var jars []*jar
	byName := map[figure.Label]*jar{}
	for i, row := range in.Rows {
		switch {
		case !(row.Day >= 0 && row.Day <= maxDay):
			return nil, figure.Faultf(at(i, "day"), "write days from inoculation, 0 to 2000", "jar %s was read on day %g", row.Jar, row.Day)
		case !(row.CoverPct >= 0 && row.CoverPct <= 100):
			return nil, figure.Faultf(at(i, "cover_pct"), "write 0 to 100", "the cover of jar %s is %g %%", row.Jar, row.CoverPct)
		}
		j := byName[row.Jar]
		if j == nil {
			j = &jar{name: row.Jar, arm: row.Arm}
			byName[row.Jar] = j
			jars = append(jars, j)
		}
		if j.arm != row.Arm {
			return nil, figure.Faultf(at(i, "arm"), "say in which arm it is", "jar %s is in arm %s and in arm %s", row.Jar, j.arm, row.Arm)
		}
		if err := j.add(i, row); err != nil {
			return nil, err
		}
	}
	for _, j := range jars {
		if err := j.check(); err != nil {
			return nil, err
		}
	}
	return jars, nil
}

func at(i int, key string) string { return fmt.Sprintf("rows[%d].%s", i, key) }

// add keeps the readings in the order of days.
func (j *jar) add(i int, row GrowRow) error {
	k, same := slices.BinarySearch(j.x, row.Day)
	if same {
		return figure.Faultf(at(i, "day"), "say which of the two is right, and leave the other out", "jar %s was read twice on day %g: %g %% and %g %%", j.name, row.Day, j.y[k], row.CoverPct)
	}
	j.x, j.y, j.rows = slices.Insert(j.x, k, row.Day), slices.Insert(j.y, k, row.CoverPct), slices.Insert(j.rows, k, i)
	return nil
}

// check asks about a cover that fell.
func (j *jar) check() error {
	top := 0
	for k := range j.y {
		if j.y[k] < j.y[top]-fall {
			return figure.Faultf(at(j.rows[k], "cover_pct"), "check both readings; if the jar was disturbed, leave out what came after",
				"jar %s was covered to %g %% on day %g and to %g %% on day %g, which is later", j.name, j.y[top], j.x[top], j.y[k], j.x[k])
		}
		if j.y[k] > j.y[top] {
			top = k
		}
	}
	return nil
}

// fit fits both curves, from slow to fast rises where the readings cross half, and
// keeps the best: a few readings can hold several. A curve that is half covered
// outside of what was seen is none.
func (j *jar) fit() {
	first, last := j.x[0], j.x[len(j.x)-1]
	if j.y[0] >= 50 || j.y[len(j.y)-1] <= 50 || len(j.x) < 3 {
		return
	}
	k := slices.IndexFunc(j.y, func(y float64) bool { return y > 50 })
	half := (j.x[k-1] + j.x[k]) / 2
	for c, curve := range curves {
		var best *Fit
		for _, rate := range []float64{1 / half, 4 / half, 12 / half} {
			f, err := Least(curve, j.x, j.y, []float64{half, rate})
			if err == nil && (best == nil || f.RSS < best.RSS) {
				best = f
			}
		}
		if best != nil && best.B[1] > 0 && best.B[0] > first && best.B[0] < last {
			j.fits[c] = best
		}
	}
}

func (j *jar) say(best int) GrowJar {
	out := GrowJar{Jar: j.name, Arm: j.arm, Readings: len(j.x)}
	for _, y := range j.y {
		if y >= 10 && y <= 90 {
			out.Rising++
		}
	}
	f := j.fits[best]
	if f == nil {
		return out
	}
	low, high := f.Profile(0, level)
	out.HalfDay = band(f.B[0], low, high)
	full := f.B[0] + math.Log(19)/f.B[1]
	if best == 1 {
		full = f.B[0] - math.Log(math.Log(1/0.95)/math.Ln2)/f.B[1]
	}
	out.Rate, out.FullDay, out.RMSE = finite(f.B[1]), finite(full), finite(math.Sqrt(f.RSS/float64(f.DF)))
	return out
}

func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func band(value, low, high float64) *Band {
	if finite(value) == nil {
		return nil
	}
	return &Band{value, finite(low), finite(high)}
}

// arms fills arms and comparisons: the half day of a jar is one figure.
func (in GrowInput) arms(r *GrowResult) {
	halves := map[figure.Label][]float64{}
	var names []figure.Label
	if slices.ContainsFunc(r.Jars, func(j GrowJar) bool { return j.Arm == in.Control }) {
		names = append(names, in.Control)
	}
	count := map[figure.Label]int{}
	for _, j := range r.Jars {
		if !slices.Contains(names, j.Arm) {
			names = append(names, j.Arm)
		}
		count[j.Arm]++
		if j.HalfDay != nil {
			halves[j.Arm] = append(halves[j.Arm], j.HalfDay.Value)
		}
	}
	for _, name := range names {
		days := halves[name]
		arm := GrowArm{Name: name, Jars: count[name], Fitted: len(days)}
		arm.HalfDay, arm.SD = finite(stats.Mean(days)), finite(math.Sqrt(stats.Variance(days)))
		r.Arms = append(r.Arms, arm)
	}
	for _, name := range names[1:] {
		c := GrowComparison{Arms: [2]figure.Label{name, names[0]}}
		if e, err := stats.Welch(halves[names[0]], halves[name], level); err == nil {
			c.Difference, c.P = band(e.Value, e.Low, e.High), finite(e.P)
		}
		r.Comparison = append(r.Comparison, c)
	}
}

func (r GrowResult) say() string {
	if len(r.Comparison) == 1 {
		if d := r.Comparison[0].Difference; d != nil && d.Low != nil && d.High != nil {
			span := fmt.Sprintf("%.1f to %.1f days later", *d.Low, *d.High)
			end := "."
			switch {
			case *d.Low <= 0 && *d.High >= 0:
				span, end = fmt.Sprintf("%.1f days sooner to %.1f days later", -*d.Low, *d.High), ": not distinguishable."
			case d.Value < 0:
				span = fmt.Sprintf("%.1f to %.1f days sooner", -*d.High, -*d.Low)
			}
			return fmt.Sprintf("%s is half covered %.1f days %s than %s (95 %% interval %s)%s", r.Comparison[0].Arms[0], math.Abs(d.Value), laterOr(d.Value), r.Comparison[0].Arms[1], span, end)
		}
	}
	if a := r.Arms[0]; a.HalfDay != nil {
		return fmt.Sprintf("Half covered on day %.1f, over %s.", *a.HalfDay, figure.Counted(a.Fitted, "jar"))
	}
	return "The readings do not hold a curve yet: each jar must be seen below and above half."
}

func laterOr(d float64) string {
	if d < 0 {
		return "sooner"
	}
	return "later"
}

func (r GrowResult) cautions() []figure.Caution {
	out := []figure.Caution{}
	thin, none := 0, 0
	for _, j := range r.Jars {
		switch {
		case j.HalfDay == nil:
			none++
		case j.Rising < leastRising:
			thin++
		}
	}
	if thin > 0 {
		out = append(out, figure.Caution{
			Code: "few_readings", Title: "Few readings on the rise", Weight: figure.Care,
			Text: fmt.Sprintf("%s fewer than %d readings between 10 and 90 %%: curves rest on little there. Look more often while jars run.", figure.Of(thin, len(r.Jars), "jar", "has", "have"), leastRising),
		})
	}
	if none > 0 {
		out = append(out, figure.Caution{
			Code: "no_curve", Title: "Jars without a curve", Weight: figure.Care,
			Text: fmt.Sprintf("%s not seen below and above half, or the readings hold no curve. What has no curve is in no mean: if the slow ones are left out, their arm looks faster than it is.", figure.Of(none, len(r.Jars), "jar", "was", "were")),
		})
	}
	return out
}

func (r GrowResult) working(rss [2]float64) []figure.Step {
	out := []figure.Step{
		{Step: "left over, logistic", Formula: "Σ (cover − 100/(1 + e^(−rate·(day − half))))², over jars", Value: rss[0], Unit: "%²", Source: "Marquardt (1963)"},
		{Step: "left over, Gompertz", Formula: "Σ (cover − 100·2^−e^(−rate·(day − half)))², over jars", Value: rss[1], Unit: "%²", Source: "Marquardt (1963)"},
	}
	for _, c := range r.Comparison {
		out = append(out, figure.Step{Step: fmt.Sprintf("difference %s − %s", c.Arms[0], c.Arms[1]), Formula: "mean of half days of jars, Welch", Value: c.Difference, Unit: "days", Source: "Welch (1947)"})
	}
	return out
}
