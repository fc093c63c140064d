package app

import (
	"context"
	"encoding/json"
	"fmt"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// TourStep is one stop of a walk through a farm that a newcomer does not know.
type TourStep struct {
	Title string `json:"title"`
	Says  string `json:"says"` // what to look at there, and why
	Kind  string `json:"kind"` // what Name names, as in Found
	Name  string `json:"name"`
}

// settingTour keeps the tour, "" if there is none.
const settingTour = "tour"

// maxTour bounds the steps of a tour.
const maxTour = 12

// SetTour keeps a tour; none puts it away.
func (f *Farm) SetTour(ctx context.Context, steps []TourStep) error {
	if len(steps) > maxTour {
		return lab.Invalidf("tour", "leave some out", "a tour of %d steps is too long", len(steps))
	}
	kept := ""
	if len(steps) > 0 {
		raw, err := json.Marshal(steps)
		if err != nil {
			return fmt.Errorf("keep the tour: %w", err)
		}
		kept = string(raw)
	}
	return f.store.Write(ctx, func(w store.Writer) error { return w.SetSetting(ctx, settingTour, kept) })
}

// Tour returns the tour, none if there is none.
func (f *Farm) Tour(ctx context.Context) ([]TourStep, error) {
	var steps []TourStep
	err := f.store.Read(ctx, func(r store.Reader) error {
		kept, err := r.Setting(ctx, settingTour)
		if err != nil || kept == "" {
			return err
		}
		return json.Unmarshal([]byte(kept), &steps)
	})
	return steps, err
}
