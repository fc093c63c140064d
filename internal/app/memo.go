package app

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"sync"

	"pinset/internal/calc/forecast"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// memo remembers what took long and holds as long as the records that it was
// made of: counts of each batch, what grows in it, how it came along, and fits.
// It is safe for use by many at once.
type memo struct {
	tallies   byBatch[store.Tally]
	growing   byBatch[*grown]
	seasons   byBatch[SeasonLine] // without windows
	questions byBatch[[]DayQuestion]
	courses   byBatch[*course] // nil where no jar was inoculated on a known day; as read, of which batch is not said

	mu       sync.Mutex
	profiles profiles
	fits     map[string]*sharedFit // by all that they were made from
}

// Bounds of what is remembered; beyond them all is forgotten.
const (
	mostBatchesKept = 1000
	mostFitsKept    = 64 // half a megabyte each
	mostWindowsKept = 20000
)

// byBatch remembers what was made of each batch until its jars change.
type byBatch[T any] struct {
	most  int // batches that are remembered, mostBatchesKept if 0
	mu    sync.Mutex
	known map[lab.BatchID]reading[T]
}

// reading is what was made of a batch after so many changes of its jars, and
// of whatever else it rests on.
type reading[T any] struct {
	changes int64
	basis   string
	of      T
}

// get returns what read makes of the batches, and calls it for those alone
// whose jars changed since, or that were made on another basis: all that read
// goes by besides the jars of a batch and what was entered on them, such as the
// farm's time zone. Of those of which read says nothing it remembers that too.
// r must read and not write: what a write takes back may not be remembered.
// What is returned is shared and may not be changed.
func (m *byBatch[T]) get(ctx context.Context, r store.Reader, ids []lab.BatchID, basis string, read func(context.Context, []lab.BatchID) (map[lab.BatchID]T, error)) (map[lab.BatchID]T, error) {
	changes, err := r.Changes(ctx, ids...)
	if err != nil {
		return nil, err
	}
	out := make(map[lab.BatchID]T, len(ids))
	var stale []lab.BatchID
	m.mu.Lock()
	for _, id := range ids {
		if k, ok := m.known[id]; ok && k.changes == changes[id] && k.basis == basis {
			out[id] = k.of
		} else {
			stale = append(stale, id)
		}
	}
	m.mu.Unlock()
	if len(stale) == 0 {
		return out, nil
	}
	fresh, err := read(ctx, stale)
	if err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.known == nil || len(m.known) > cmp.Or(m.most, mostBatchesKept) {
		m.known = make(map[lab.BatchID]reading[T])
	}
	for _, id := range stale {
		out[id] = fresh[id]
		m.known[id] = reading[T]{changes[id], basis, fresh[id]}
	}
	return out, nil
}

// sharedFit is a model with the forecasts and windows that were asked of it.
type sharedFit struct {
	model     *forecast.Model
	mu        sync.Mutex
	forecasts map[int]forecast.Forecast // by group, -1 for none
	windows   map[windowKey]jarWindow
}

// windowKey is a group of the model, -1 for none, and the days that passed
// without the stage.
type windowKey struct {
	group  int
	passed float64
}

// fit returns the model for what forecast.Fit is given.
func (m *memo) fit(prior forecast.Prior, groups [][]forecast.Span) (*sharedFit, error) {
	raw, err := json.Marshal(struct {
		Prior  forecast.Prior
		Groups [][]forecast.Span
	}{prior, groups})
	if err != nil {
		return nil, fmt.Errorf("write down what a forecast is made from: %w", err)
	}
	m.mu.Lock()
	known, ok := m.fits[string(raw)]
	m.mu.Unlock()
	if ok {
		return known, nil
	}
	model, err := forecast.Fit(prior, groups)
	if err != nil {
		return nil, err
	}
	made := &sharedFit{model: model, forecasts: make(map[int]forecast.Forecast), windows: make(map[windowKey]jarWindow)}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.fits == nil || len(m.fits) > mostFitsKept {
		m.fits = make(map[string]*sharedFit)
	}
	m.fits[string(raw)] = made
	return made, nil
}

// of returns the forecast for the next batch of a group.
func (s *sharedFit) of(group int) forecast.Forecast {
	s.mu.Lock()
	defer s.mu.Unlock()
	f, ok := s.forecasts[group]
	if !ok {
		f = s.model.Of(group).Merged()
		s.forecasts[group] = f
	}
	return f
}

// window returns the window that compute makes for a key.
func (s *sharedFit) window(key windowKey, compute func() jarWindow) jarWindow {
	s.mu.Lock()
	w, ok := s.windows[key]
	s.mu.Unlock()
	if ok {
		return w
	}
	w = compute()
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.windows) > mostWindowsKept {
		s.windows = make(map[windowKey]jarWindow)
	}
	s.windows[key] = w
	return w
}
