package cli

import (
	"fmt"
	"io"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type trialDaysCmd struct {
	records
	Name    string `arg:"" help:"Name of the trial."`
	Stage   string `help:"One stage: growth, cover, colour, pins or ready; all that were seen if left out." placeholder:"STAGE"`
	Working bool   `help:"Print the working too."`
}

func (c *trialDaysCmd) Run(r *run) error {
	var stages []lab.Stage
	if c.Stage != "" {
		if lab.Stage(c.Stage).Label() == "" {
			return lab.Invalidf("stage", "write growth, cover, colour, pins or ready", "%q is not a stage", c.Stage)
		}
		stages = []lab.Stage{lab.Stage(c.Stage)}
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		d, err := f.TrialDays(r.ctx, c.Name, stages...)
		if err != nil {
			return err
		}
		return r.print(d, func(w io.Writer) { c.write(w, d) })
	})
}

func (c *trialDaysCmd) write(w io.Writer, d app.TrialDays) {
	if len(d.Came) == 0 {
		wrap(w, "", "No jar of this trial was seen at a stage yet.")
	}
	for _, s := range d.Stages {
		for _, text := range s.Says() {
			wrap(w, "", text)
		}
		fmt.Fprintln(w)
		writeStage(w, s)
		printCautions(w, s.Answer.Cautions)
		if c.Working {
			printWorking(w, s.Answer.Working)
		}
		fmt.Fprintln(w)
	}
	if d.Cover != nil {
		for _, text := range d.Cover.Says() {
			wrap(w, "", text)
		}
		fmt.Fprintln(w)
		t := newTable("cover", "jars", "curves", "half by day", "spread, days")
		for _, a := range d.Cover.Answer.Result.Arms {
			t.row(a.Name, a.Jars, a.Fitted, decimals(a.HalfDay, 1), decimals(a.SD, 1))
		}
		t.write(w)
		printCautions(w, d.Cover.Answer.Cautions)
	}
	for _, q := range d.Questions {
		wrap(w, "? ", q.Says())
	}
}

// writeStage prints the arms of a stage, then how many times as long each takes.
func writeStage(w io.Writer, s app.StageDays) {
	t := newTable(s.Stage.Label(), "jars", "seen", "lost before", "waiting", "half by day", "from", "to")
	for _, a := range s.Answer.Result.Arms {
		var day, low, high *float64
		if a.Median != nil {
			day, low, high = &a.Median.Value, a.Median.Low, a.Median.High
		}
		t.row(a.Name, a.Jars, a.Seen, a.Lost, a.Waiting, decimals(day, 1), decimals(low, 1), decimals(high, 1))
	}
	t.write(w)
	for _, x := range s.Answer.Result.Comparison {
		text := fmt.Sprintf("%s to %s: by lot p %s.", x.Arms[0], x.Arms[1], decimals(x.P, 3))
		if x.Worst != nil {
			text += fmt.Sprintf(" If lost jars had come at once in one arm and never in the other: %s to %s times as long.", decimals(x.Worst.Low, 2), decimals(x.Worst.High, 2))
		}
		wrap(w, "", text)
	}
}
