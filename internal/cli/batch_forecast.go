package cli

import (
	"fmt"
	"io"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type batchForecastCmd struct {
	records
	Batch string `arg:"" help:"Batch, such as B12."`
}

// windowView is when a stage is expected, for printing.
type windowView struct {
	Stage    lab.Stage `json:"stage"`
	From     string    `json:"from"` // 4 of 5 batches come within
	To       string    `json:"to"`
	Likely   string    `json:"likely"`
	NearFrom string    `json:"near_from"` // half of them come within
	NearTo   string    `json:"near_to"`
	Own      float64   `json:"own_share"` // how far it leans on batches of the same recipe
	Batches  int       `json:"own_batches"`
	Late     bool      `json:"late"`
	Rests    string    `json:"rests"`
}

func viewWindow(w app.StageWindow) windowView {
	day := func(t time.Time) string { return t.Format(time.DateOnly) }
	return windowView{w.Stage, day(w.From), day(w.To), day(w.Likely), day(w.NearFrom), day(w.NearTo), w.Own, w.Batches, w.Late, w.Rests()}
}

// writeWindow tells a window in words, after first.
func writeWindow(w io.Writer, first string, x app.StageWindow) {
	late := ""
	if x.Late {
		late = "late: "
	}
	wrap(w, first, fmt.Sprintf("%s%s; %s", late, x.Says(), x.Rests()))
}

func (c *batchForecastCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		windows, err := f.Forecast(r.ctx, c.Batch)
		if err != nil {
			return err
		}
		out := []windowView{}
		for _, w := range windows {
			out = append(out, viewWindow(w))
		}
		return r.print(out, func(w io.Writer) {
			if len(windows) == 0 {
				fmt.Fprintln(w, "no stage is to come, or nothing is known to begin from")
			}
			for _, x := range windows {
				writeWindow(w, "", x)
			}
		})
	})
}
