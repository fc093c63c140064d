package cli

import (
	"context"
	"fmt"
	"io"
	"time"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/picture"
)

type forecastCmds struct {
	Next forecastNextCmd `cmd:"" help:"Say when the next stages are expected."`
	Past forecastPastCmd `cmd:"" help:"Say how past forecasts turned out."`
}

type forecastNextCmd struct {
	records
	Of string `arg:"" optional:"" help:"A batch or a jar, such as B12 or B12.3; all that grows if left out."`
}

// batchWindows are the windows of a batch, for printing.
type batchWindows struct {
	Batch   string       `json:"batch"`
	Windows []windowView `json:"windows"`
}

// jarsWindow is the next stage of jars of which the same is expected, for
// printing.
type jarsWindow struct {
	Jars   string     `json:"jars"`
	Shelf  string     `json:"shelf"`
	Waits  bool       `json:"waits_for_light"` // they are to be moved first
	Window windowView `json:"window"`
}

func (c *forecastNextCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		o, err := c.ask(r.ctx, f)
		if err != nil {
			return err
		}
		out := struct {
			Batches []batchWindows `json:"batches"`
			Jars    []jarsWindow   `json:"jars"`
		}{[]batchWindows{}, []jarsWindow{}}
		for _, b := range o.Batches {
			view := batchWindows{Batch: b.Batch.String(), Windows: []windowView{}}
			for _, w := range b.Windows {
				view.Windows = append(view.Windows, viewWindow(w))
			}
			out.Batches = append(out.Batches, view)
		}
		for _, j := range o.Jars {
			out.Jars = append(out.Jars, jarsWindow{j.Span(), j.Shelf, j.Waits, viewWindow(j.Window)})
		}
		return r.print(out, func(w io.Writer) { writeOutlook(w, o) })
	})
}

func (c *forecastNextCmd) ask(ctx context.Context, f *app.Farm) (app.Outlook, error) {
	if c.Of == "" {
		return f.Outlook(ctx)
	}
	return f.OutlookOf(ctx, c.Of)
}

func writeOutlook(w io.Writer, o app.Outlook) {
	if len(o.Batches)+len(o.Jars) == 0 {
		fmt.Fprintln(w, "no stage is to come, or nothing is known to begin from")
	}
	for _, b := range o.Batches {
		fmt.Fprintln(w, b.Batch.Title())
		for _, x := range b.Windows {
			writeWindow(w, "  ", x)
		}
	}
	if len(o.Jars) > 0 && len(o.Batches) > 0 {
		fmt.Fprintln(w, "\nnext on the jars, each by its own days")
	}
	for _, j := range o.Jars {
		fmt.Fprintln(w, j.Span())
		first := "  "
		if j.Waits {
			first += "once in the light: "
		}
		writeWindow(w, first, j.Window)
	}
}

type forecastPastCmd struct {
	records
	All bool `help:"List every forecast that was kept."`
}

// keptView is a forecast that was kept and what came of it, for printing.
type keptView struct {
	Batch    string      `json:"batch"`
	Stage    lab.Stage   `json:"stage"`
	After    lab.Stage   `json:"after"` // days count from it; "" is the inoculation
	Made     string      `json:"made"`
	From     string      `json:"from"`
	To       string      `json:"to"`
	Likely   string      `json:"likely"`
	NearFrom string      `json:"near_from"`
	NearTo   string      `json:"near_to"`
	Outcome  app.Outcome `json:"outcome"`
	CameFrom string      `json:"came_from"` // the last visit without it
	CameBy   *string     `json:"came_by"`   // the first with it; null if it was not seen
	PIT      *float64    `json:"pit"`       // where it lay in its forecast, 0 to 1; null if not judged
	CRPS     *float64    `json:"crps_days"` // how far off it was
}

func (c *forecastPastCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		past, err := f.Calibration(r.ctx)
		if err != nil {
			return err
		}
		out := struct {
			app.ForecastWatch
			Cautions  []figure.Caution `json:"cautions"`
			Forecasts []keptView       `json:"forecasts"`
		}{past.Watch, past.Cautions, []keptView{}}
		for _, k := range past.Forecasts {
			out.Forecasts = append(out.Forecasts, viewKept(k))
		}
		return r.print(out, func(w io.Writer) { c.write(w, past, out.Forecasts) })
	})
}

func viewKept(k app.KeptForecast) keptView {
	day := func(t time.Time) string { return t.Format(time.DateOnly) }
	v := keptView{
		Batch: k.Of.String(), Stage: k.Stage, After: k.After, Made: day(k.Made), From: day(k.Window.From), To: day(k.Window.To), Likely: day(k.Window.Likely),
		NearFrom: day(k.Window.NearFrom), NearTo: day(k.Window.NearTo), Outcome: k.Outcome, CameFrom: day(k.CameFrom),
	}
	if !k.CameBy.IsZero() {
		by := day(k.CameBy)
		v.CameBy = &by
	}
	if k.Score != nil {
		v.PIT, v.CRPS = &k.Score.PIT, &k.Score.CRPS
	}
	return v
}

func (c *forecastPastCmd) write(w io.Writer, past app.Calibration, kept []keptView) {
	for _, text := range past.Says() {
		wrap(w, "", text)
	}
	if past.Enough() {
		fmt.Fprintln(w)
		t := newTable("window", "held", "of", "usual from", "to")
		for _, x := range past.Windows() {
			t.row(fmt.Sprintf("%.0f %%", 100*x.Share), x.Hits, past.Scored, x.Usual[0], x.Usual[1])
		}
		t.write(w)
		fmt.Fprintln(w)
		t = newTable("it came", "forecasts", "usual from", "to")
		for i, n := range past.PITBins {
			t.row(picture.FifthNames[i], n, past.Usual.Fifth[0], past.Usual.Fifth[1])
		}
		t.write(w)
	}
	printCautions(w, past.Cautions)
	if c.All && len(kept) > 0 {
		fmt.Fprintln(w)
		t := newTable("batch", "stage", "made", "from", "to", "likely", "came by", "outcome")
		for _, k := range kept {
			by := unknown
			if k.CameBy != nil {
				by = *k.CameBy
			}
			t.row(k.Batch, k.Stage.Label(), k.Made, k.From, k.To, k.Likely, by, k.Outcome.Label())
		}
		t.write(w)
	}
}
