package report

import (
	"fmt"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/picture"
)

// StageCurves is the picture of one stage of a trial.
func StageCurves(v app.TrialView, d app.StageDays) picture.Stages {
	s := picture.Stages{Title: capital(d.Stage.Label()) + ", share of jars by day", Finding: strings.Join(d.Says(), " ")}
	for _, a := range d.Answer.Result.Arms {
		c := picture.StageCurve{Name: string(a.Name), Sign: signOf(v, string(a.Name)), Note: stageNote(a)}
		for _, q := range a.ShareByDay {
			c.Points = append(c.Points, picture.StagePoint{Day: q.Day, Low: q.Low, High: q.High})
		}
		s.Arms = append(s.Arms, c)
	}
	return s
}

// stageNote counts the jars of an arm: "5 of 6 seen, 1 lost".
func stageNote(a app.StageArm) string {
	text := fmt.Sprintf("%d of %d seen", a.Seen, a.Jars)
	if a.Lost > 0 {
		text += fmt.Sprintf(", %d lost before", a.Lost)
	}
	return text
}

// CoverCurves is the picture of how the jars of a trial were covered.
func CoverCurves(v app.TrialView, d app.CoverDays) picture.Covers {
	r, days := d.Answer.Result, d.Days()
	c := picture.Covers{Title: "Cover of the surface by day", Finding: strings.Join(d.Says(), " ")}
	arm := make(map[string]int)
	for i, a := range r.Arms {
		arm[string(a.Name)] = i
		drawn := picture.CoverArm{Name: string(a.Name), Sign: signOf(v, string(a.Name)), Note: figure.Of(a.Fitted, a.Jars, "jar", "with a curve", "with a curve")}
		for _, q := range r.Course(a, days) {
			drawn.Course = append(drawn.Course, picture.CoverBand{Day: q.Day, Value: q.Value, Low: q.Low, High: q.High})
		}
		c.Arms = append(c.Arms, drawn)
	}
	for _, j := range r.Jars {
		drawn := picture.CoverJar{Name: string(j.Jar), Arm: arm[string(j.Arm)]}
		for _, day := range days {
			if y, ok := r.At(j, day); ok {
				drawn.Curve = append(drawn.Curve, picture.CoverPoint{Day: day, Percent: y})
			}
		}
		for _, row := range d.Rows {
			if row.Jar == j.Jar {
				drawn.Readings = append(drawn.Readings, picture.CoverPoint{Day: row.Day, Percent: row.CoverPct})
			}
		}
		c.Jars = append(c.Jars, drawn)
	}
	return c
}

// The words below the pictures of days.
const (
	IntervalHint = "Half by day: when half of an arm's jars have come, with the 95 % interval."
	RatioHint    = IntervalHint + " By lot: how often deals alone set the arms so far apart. Worst case: what the figure would be if the lost jars of one arm had come at once and those of the other not at all, both ways."
	StageHint    = "A curve steps at the visit that saw the stage. Its shade reaches back to the visit before: the stage came somewhere between."
	CoverHint    = "One thin line a jar. A mark is a reading, the larger the more jars it was read on; arms that were read alike stand side by side. The band is the mean of the jars of an arm with its 95 % interval, over jars and not over readings."
)

// StageTable is the figures of a stage by arm: head and rows.
func StageTable(d app.StageDays) picture.Table {
	t := picture.Table{Head: []string{"Arm", "seen", "lost before", "half by day"}}
	for _, a := range d.Answer.Result.Arms {
		row := []string{string(a.Name), fmt.Sprintf("%d of %d", a.Seen, a.Jars), fmt.Sprint(a.Lost), "not known"}
		if m := a.Median; m != nil {
			row[3] = within(m.Value, m.Low, m.High, 1)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// within prints a value with its interval: "30.8 (28.8 to 33.0)".
func within(value float64, low, high *float64, decimals int) string {
	return fmt.Sprintf("%s (%s to %s)", known(&value, decimals, ""), known(low, decimals, ""), known(high, decimals, ""))
}

// RatioTable is how many times as long each arm takes, with the worst that
// lost jars could do to it.
func RatioTable(d app.StageDays) picture.Table {
	t := picture.Table{Head: []string{"Arms", "times as long", "by lot, p", "worst case"}}
	for _, c := range d.Answer.Result.Comparison {
		row := []string{string(c.Arms[0]) + " to " + string(c.Arms[1]), "not known", Chance(c.P), "no jar lost"}
		if r := c.Ratio; r != nil {
			row[1] = within(r.Value, r.Low, r.High, 2)
		}
		if w := c.Worst; w != nil {
			row[3] = known(w.Low, 2, "") + " to " + known(w.High, 2, "")
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// CoverTable is the days of half cover by arm, over jars.
func CoverTable(d app.CoverDays) picture.Table {
	t := picture.Table{Head: []string{"Arm", "jars with a curve", "half covered, day", "spread, days"}}
	for _, a := range d.Answer.Result.Arms {
		t.Rows = append(t.Rows, []string{string(a.Name), fmt.Sprintf("%d of %d", a.Fitted, a.Jars), known(a.HalfDay, 1, ""), known(a.SD, 1, "")})
	}
	return t
}

// CoverApartTable is how many days later each arm is half covered, over jars.
func CoverApartTable(d app.CoverDays) picture.Table {
	t := picture.Table{Head: []string{"Arms", "half covered later, days", "p"}}
	for _, c := range d.Answer.Result.Comparison {
		row := []string{string(c.Arms[0]) + " less " + string(c.Arms[1]), "not known", Chance(c.P)}
		if x := c.Difference; x != nil {
			row[1] = within(x.Value, x.Low, x.High, 1)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// CoverJarTable is the half day of each jar with the interval of its own curve.
func CoverJarTable(d app.CoverDays) picture.Table {
	t := picture.Table{Head: []string{"Jar", "arm", "readings", "half covered, day"}}
	for _, j := range d.Answer.Result.Jars {
		row := []string{string(j.Jar), string(j.Arm), fmt.Sprint(j.Readings), "no curve"}
		if h := j.HalfDay; h != nil {
			row[3] = within(h.Value, h.Low, h.High, 1)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// addDays says when stages came, in a report.
func (r *Report) addDays(v app.TrialView, d app.TrialDays) {
	if len(d.Stages) == 0 && d.Cover == nil && len(d.Questions) == 0 {
		return
	}
	r.add(heading{"Days"})
	for _, s := range d.Stages {
		for _, text := range s.Says() {
			r.add(words{text})
		}
		r.add(drawn{"days-" + string(s.Stage), StageCurves(v, s).Draw}, gridOf(capital(s.Stage.Label()), StageTable(s)))
		if len(s.Answer.Result.Comparison) > 0 {
			r.add(gridOf("", RatioTable(s)), words{RatioHint})
		}
		for _, c := range s.Answer.Cautions {
			r.add(doubt{c})
		}
	}
	if len(d.Stages) > 0 {
		r.add(words{StageHint})
	}
	if c := d.Cover; c != nil {
		for _, text := range c.Says() {
			r.add(words{text})
		}
		r.add(drawn{"days-covered", CoverCurves(v, *c).Draw}, words{CoverHint}, gridOf("Half covered, over jars", CoverTable(*c)))
		if len(c.Answer.Result.Comparison) > 0 {
			r.add(gridOf("", CoverApartTable(*c)))
		}
		for _, x := range c.Answer.Cautions {
			r.add(doubt{x})
		}
	}
	if len(d.Questions) > 0 {
		r.add(heading{"To be answered"})
		for _, q := range d.Questions {
			r.add(words{q.Says()})
		}
	}
}
