package cli

import (
	"fmt"
	"io"
	"strings"
	"time"

	"pinset/internal/app"
)

type cookDayCmd struct {
	records
	Jars  string `arg:"" help:"What to cook, such as '30 pint jar; 12 quart jar'."`
	Hold  string `help:"Your hold, such as 90min; how long a cook takes follows from it." placeholder:"TIME"`
	Cycle string `help:"Or how long a whole cook takes, from one loading to the next." placeholder:"TIME"`
	Day   string `help:"Hours of work in a day; 10 h unless said." placeholder:"TIME"`
	Begin string `help:"When the day begins." default:"08:00" placeholder:"HH:MM"`
	Mixed bool   `help:"Two sizes may stand in one cook."`
}

func (c *cookDayCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		begin, err := time.Parse("15:04", c.Begin)
		if err != nil {
			return usage(fmt.Errorf("--begin: write it like 08:00"))
		}
		day, err := f.CookDay(r.ctx, app.CookDayInput{Jars: c.Jars, Hold: c.Hold, Cycle: c.Cycle, Day: c.Day, Mixed: c.Mixed})
		if err != nil {
			return err
		}
		out := map[string]any{"result": day.Result, "cautions": day.Cautions, "working": day.Working, "cycle_min": day.CycleMin, "day_min": day.DayMin}
		return r.print(out, func(w io.Writer) { writeDay(w, day, begin) })
	})
}

func writeDay(w io.Writer, day app.CookDay, begin time.Time) {
	t := newTable("day", "from", "to", "cooker", "load", "places")
	for _, c := range day.Result.Cooks {
		from := begin.Add(time.Duration(c.StartMin * float64(time.Minute)))
		var load []string
		for _, l := range c.Load {
			load = append(load, fmt.Sprintf("%d %s", l.Jars, l.Container))
		}
		to := from.Add(time.Duration(day.CycleMin * float64(time.Minute)))
		t.row(c.Day, from.Format("15:04"), to.Format("15:04"), c.Cooker, strings.Join(load, ", "), c.Places)
	}
	t.write(w)
	why := ""
	if day.Cycle != "" {
		why = ": " + day.Cycle
	}
	wrap(w, "", fmt.Sprintf("One cook takes %.0f min%s.", day.CycleMin, why))
	printCautions(w, day.Cautions)
}
