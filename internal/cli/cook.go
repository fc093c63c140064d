package cli

import (
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

type cookCmds struct {
	Add  cookAddCmd  `cmd:"" help:"Plan a cook that belongs to no plan: bottles, tools."`
	List cookListCmd `cmd:"" help:"List the cooks and whether they held."`
	Show cookShowCmd `cmd:"" help:"Show one cook: marks, stretches, load."`
	Mark cookMarkCmd `cmd:"" help:"Log a mark: reached, lost, back, heat_off, opened."`

	Advise   cookAdviseCmd   `cmd:"" help:"Say before a cook how long to hold and how much water to pour."`
	Step     cookStepCmd     `cmd:"" help:"Log a step or a reading: water, heat_on, vent, weight_on, gauge, reads, zero, heard."`
	Item     cookItemCmd     `cmd:"" help:"Write down what else stands in a cook: bottles, tools, jars of no batch."`
	Alarms   cookAlarmsCmd   `cmd:"" help:"Say what is due in the cooks that are under way."`
	Core     cookCoreCmd     `cmd:"" help:"Say what the cores of the jars got, beside the verdict."`
	Record   cookRecordCmd   `cmd:"" help:"Take in the file of a temperature logger."`
	Loggers  cookLoggersCmd  `cmd:"" help:"List what was said of loggers' files, or forget one."`
	Day      cookDayCmd      `cmd:"" help:"Lay the cooks of some jars over your cookers and a working day."`
	Fit      cookFitCmd      `cmd:"" help:"Fit the core model to the loggers of chamber and core, and count it from then on."`
	Fits     cookFitsCmd     `cmd:"" help:"List the fits that are counted."`
	Standard cookStandardCmd `cmd:"" help:"Count what came of each way of cooking."`
}

type cookAddCmd struct {
	signed
	Name   string `help:"Your own name for it." placeholder:"NAME"`
	Cooker string `help:"Which vessel." placeholder:"NAME"`
	Layers int    `help:"Layers of jars." placeholder:"N"`
	Hold   string `help:"Your own rule." placeholder:"60min"`
	Gauge  string `help:"Target: on the gauge, or in °C for a pot without one." placeholder:"15psi"`
	Day    string `help:"Day; today if left out." placeholder:"DAY"`
	Note   string `help:"Anything else." placeholder:"TEXT"`
}

func (c *cookAddCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		cook, err := f.AddCook(r.ctx, app.NewCook{Name: c.Name, Cooker: c.Cooker, Layers: c.Layers, Hold: c.Hold, Gauge: c.Gauge, Day: c.Day, Note: c.Note})
		if err != nil {
			return err
		}
		return r.print(map[string]any{"cook": cook.Number}, func(w io.Writer) { fmt.Fprintln(w, cook) })
	})
}

// cookView is a cook for printing.
type cookView struct {
	Cook      int              `json:"cook"`
	Name      string           `json:"name"`
	State     lab.CookState    `json:"state"`
	HoldMin   *float64         `json:"hold_min"`
	Gauge     string           `json:"gauge"`
	Longest   *float64         `json:"longest_min"`
	Stretches []float64        `json:"stretches_min"`
	MetAt     *string          `json:"met_at"`
	Jars      int              `json:"jars"`
	Blanks    int              `json:"blanks"`
	Batches   []string         `json:"batches"`
	Sentence  string           `json:"sentence"`
	Items     []itemView       `json:"items,omitempty"`
	Marks     []markView       `json:"marks,omitempty"`
	Cautions  []figure.Caution `json:"cautions,omitempty"`
	Deed      lab.DeedID       `json:"deed,omitempty"` // of the mark just entered
}

type markView struct {
	At     *string    `json:"at"`
	Event  lab.Event  `json:"event"`
	By     string     `json:"by"`
	Undone bool       `json:"undone"`
	Deed   lab.DeedID `json:"deed"`
}

func viewCook(c app.CookRow) cookView {
	v := cookView{
		Cook: c.Number, Name: c.Name, State: c.State, HoldMin: known(float64(c.Hold)), Gauge: c.Gauge, Jars: c.Jars, Blanks: c.Blanks,
		Batches: c.Batches, Sentence: c.Sentence, Stretches: []float64{},
	}
	for _, s := range c.Stretches {
		v.Stretches = append(v.Stretches, s.Minutes)
	}
	if len(c.Stretches) > 0 {
		v.Longest = &c.Longest
	}
	if c.MetAt != nil {
		v.MetAt = viewWhen(lab.At(*c.MetAt))
	}
	if v.Batches == nil {
		v.Batches = []string{}
	}
	return v
}

type cookListCmd struct {
	records
	Below int `help:"Only those with lower numbers; a list ends after 200." placeholder:"N"`
}

func (c *cookListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, _, err := f.CooksBelow(r.ctx, c.Below)
		if err != nil {
			return err
		}
		views := []cookView{}
		for _, c := range rows {
			views = append(views, viewCook(c))
		}
		return r.print(views, func(w io.Writer) {
			t := newTable("cook", "state", "longest min", "jars", "blanks", "batches")
			for _, v := range views {
				t.row(v.Cook, v.State, decimals(v.Longest, 0), v.Jars, v.Blanks, strings.Join(v.Batches, ", "))
			}
			t.write(w)
		})
	})
}

type cookShowCmd struct {
	records
	Cook string `arg:"" help:"Cook, such as 7 or its own name."`
}

func (c *cookShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.CookView(r.ctx, c.Cook)
		if err != nil {
			return err
		}
		return r.printCook(f, v, "")
	})
}

// printCook prints a cook. deed is the mark that was just entered, if any.
func (r *run) printCook(f *app.Farm, v app.CookView, deed lab.DeedID) error {
	out := viewCook(v.CookRow)
	out.Deed = deed
	out.Cautions = v.Cautions
	for _, i := range v.Items {
		out.Items = append(out.Items, itemView{i.Count, i.Name, i.Figures, i.Deed})
	}
	for _, m := range v.Marks {
		out.Marks = append(out.Marks, markView{viewWhen(m.At), m.Event, m.By, m.Undone, m.Deed})
	}
	return r.print(out, func(w io.Writer) {
		wrap(w, "", fmt.Sprintf("%s: %s", v.Cook, v.Sentence))
		for _, i := range out.Items {
			fmt.Fprintf(w, "%d %s\n", i.Count, i.Name)
		}
		if len(v.Marks) > 0 {
			fmt.Fprintln(w)
		}
		for _, m := range v.Marks {
			undone := ""
			if m.Undone {
				undone = " (undone)"
			}
			fmt.Fprintf(w, "%s  %s%s\n", m.At.Show(f.Zone(r.ctx)), m.Event.Label(), undone)
		}
		printCautions(w, v.Cautions)
		writeUndo(w, deed)
	})
}

type cookMarkCmd struct {
	signed
	Cook  string `arg:"" help:"Cook, such as 7 or its own name."`
	Event string `arg:"" help:"reached, lost, back, heat_off or opened."`
	At    string `help:"When; now if left out." placeholder:"TIME"`
}

func (c *cookMarkCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		act := c.act()
		v, err := f.MarkCook(r.ctx, act, c.Cook, lab.Event(c.Event), c.At)
		if err != nil {
			return err
		}
		return r.printCook(f, v, act.ID)
	})
}
