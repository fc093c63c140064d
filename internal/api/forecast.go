package api

import (
	"context"
	"time"

	"pinset/internal/app"
)

// Window is when a stage is expected.
type Window struct {
	Stage    string  `json:"stage"`
	From     string  `json:"from" format:"date" doc:"4 of 5 come from here on"`
	To       string  `json:"to" format:"date"`
	Likely   string  `json:"likely" format:"date"`
	NearFrom string  `json:"near_from" format:"date" doc:"half of them come from here on"`
	NearTo   string  `json:"near_to" format:"date"`
	OwnShare float64 `json:"own_share" doc:"how far it leans on batches of the same recipe, 0 to 1"`
	Late     bool    `json:"late"`
	Rests    string  `json:"rests" doc:"what it rests on"`
}

func viewWindow(w app.StageWindow) Window {
	day := func(t time.Time) string { return t.Format(time.DateOnly) }
	return Window{string(w.Stage), day(w.From), day(w.To), day(w.Likely), day(w.NearFrom), day(w.NearTo), w.Own, w.Late, w.Rests()}
}

func (s *service) forecast(ctx context.Context, in *OfBatch) (list[Window], error) {
	windows, err := s.farm.Forecast(ctx, in.Batch)
	if err != nil {
		return list[Window]{}, err
	}
	var out []Window
	for _, w := range windows {
		out = append(out, viewWindow(w))
	}
	return whole(out), nil
}

type expected struct {
	Batch string `json:"batch"`
	Jars  string `json:"jars" doc:"such as B12·1–6; empty if it is of the whole batch"`
	Shelf string `json:"shelf" doc:"where the jars stand"`
	Waits bool   `json:"waits_for_light" doc:"the jars are covered and are to be moved first"`
	Window
}

func (s *service) outlook(ctx context.Context, _ *nothing) (list[expected], error) {
	o, err := s.farm.Outlook(ctx)
	if err != nil {
		return list[expected]{}, err
	}
	var out []expected
	for _, b := range o.Batches {
		for _, w := range b.Windows {
			out = append(out, expected{Batch: b.Batch.String(), Window: viewWindow(w)})
		}
	}
	for _, j := range o.Jars {
		out = append(out, expected{j.Batch.String(), j.Span(), j.Shelf, j.Waits, viewWindow(j.Window)})
	}
	return whole(out), nil
}

type pastForecasts struct {
	app.ForecastWatch
	Forecasts []pastForecast `json:"forecasts" doc:"the newest first"`
}

type pastForecast struct {
	Batch   string  `json:"batch"`
	Stage   string  `json:"stage"`
	Made    string  `json:"made" format:"date"`
	From    string  `json:"from" format:"date" doc:"4 of 5 come from here on"`
	To      string  `json:"to" format:"date"`
	Likely  string  `json:"likely" format:"date"`
	CameBy  *string `json:"came_by" format:"date" doc:"the first visit that showed it; null if it was not seen"`
	Outcome string  `json:"outcome" enum:"within,outside,waits,not seen"`
}

func (s *service) pastForecasts(ctx context.Context, _ *nothing) (pastForecasts, error) {
	past, err := s.farm.Calibration(ctx)
	if err != nil {
		return pastForecasts{}, err
	}
	day := func(t time.Time) string { return t.Format(time.DateOnly) }
	out := pastForecasts{past.Watch, []pastForecast{}}
	for _, k := range past.Forecasts {
		x := pastForecast{k.Of.String(), string(k.Stage), day(k.Made), day(k.Window.From), day(k.Window.To), day(k.Window.Likely), nil, string(k.Outcome)}
		if !k.CameBy.IsZero() {
			by := day(k.CameBy)
			x.CameBy = &by
		}
		out.Forecasts = append(out.Forecasts, x)
	}
	return out, nil
}
