package web

import (
	"fmt"
	"net/http"
	"strconv"

	"pinset/internal/app"
)

// tourStop is a step of the tour with the way to it.
type tourStop struct {
	app.TourStep
	Path string
	N    int // from 1
}

// tourBar is what a page says while the tour stands at it.
type tourBar struct {
	Here tourStop
	Of   int
	Next *tourStop // nil at the last
}

// tourStops returns the steps with their addresses.
func tourStops(steps []app.TourStep) []tourStop {
	out := make([]tourStop, len(steps))
	for i, s := range steps {
		out[i] = tourStop{s, fmt.Sprintf("%s?tour=%d", pathOf(s.Kind, s.Name), i+1), i + 1}
	}
	return out
}

// tourAt returns the bar of the step that the address names, nil if none.
func (s *server) tourAt(r *http.Request) (*tourBar, error) {
	n, err := strconv.Atoi(r.URL.Query().Get("tour"))
	if err != nil || n < 1 {
		return nil, nil
	}
	steps, err := s.farm.Tour(r.Context())
	if err != nil || n > len(steps) {
		return nil, err
	}
	stops := tourStops(steps)
	bar := &tourBar{Here: stops[n-1], Of: len(stops)}
	if n < len(stops) {
		bar.Next = &stops[n]
	}
	return bar, nil
}

// postTour serves POST /tour: puts the tour away.
func (s *server) postTour(w http.ResponseWriter, r *http.Request) error {
	if err := s.farm.SetTour(r.Context(), nil); err != nil {
		return err
	}
	return seeOther(w, r, "/")
}
