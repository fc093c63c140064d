package web

import (
	"net/http"

	"pinset/internal/app"
	"pinset/internal/report"
)

// forecastPage shows when stages are expected, and how earlier forecasts
// turned out.
type forecastPage struct {
	frame
	app.Outlook
	Picture *drawing           // of the earlier ones; nil while they are too few
	Kept    []app.KeptForecast // the newest of them
}

func (forecastPage) template() string { return "watch/forecast" }

// newestKept is how many kept forecasts the page lists.
const newestKept = 20

// getForecast serves GET /forecast.
func (s *server) getForecast(w http.ResponseWriter, r *http.Request) error {
	o, err := s.farm.Outlook(r.Context())
	if err != nil {
		return err
	}
	p := &forecastPage{frame: frame{Title: "What comes next", Section: "/"}, Outlook: o}
	p.Kept = o.Past.Forecasts[:min(newestKept, len(o.Past.Forecasts))]
	if picture, ok := report.Calibration(o.Past); ok {
		p.Picture = newDrawing("calibration", deskWide, picture.Draw)
	}
	return s.show(w, r, http.StatusOK, p)
}

// Says tells what comes first of all.
func (p *forecastPage) Says() string {
	var first *app.StageWindow
	name := ""
	for _, b := range p.Batches {
		for i, w := range b.Windows {
			if first == nil || w.Likely.Before(first.Likely) {
				first, name = &b.Windows[i], b.Batch.Title()
			}
		}
	}
	if first == nil {
		return "No stage is to come of which anything is known."
	}
	return name + " comes first: " + first.Says() + "."
}

// JarsOf are the windows of the jars of one batch.
func (p *forecastPage) JarsOf(b app.BatchOutlook) []app.JarsOutlook {
	var out []app.JarsOutlook
	for _, j := range p.Jars {
		if j.Batch.ID == b.Batch.ID {
			out = append(out, j)
		}
	}
	return out
}

// More is how many kept forecasts the page leaves out.
func (p *forecastPage) More() int { return len(p.Past.Forecasts) - len(p.Kept) }
