package app

import (
	"encoding/json"
	"sync"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
)

// mostHolds bounds what a holdMemo keeps.
const mostHolds = 64

// holdMemo keeps the last answers of the calculators hold and cook: every open page asks
// for the alarms of a running cook again and again, and a hold takes a tenth
// of a second. Its answers are shared: they are only read.
type holdMemo struct {
	mu      sync.Mutex
	known   map[string]figure.Answer[thermal.HoldResult]
	targets map[string]thermal.Band // by the ask of the calculator cook
}

// hold answers in, by the calculator or from what is kept.
func (m *holdMemo) hold(in thermal.HoldInput) (figure.Answer[thermal.HoldResult], error) {
	key, err := json.Marshal(in)
	if err != nil {
		return thermal.Hold(in) // a NaN: the calculator says what is wrong
	}
	m.mu.Lock()
	answer, ok := m.known[string(key)]
	m.mu.Unlock()
	if ok {
		return answer, nil
	}
	if answer, err = thermal.Hold(in); err != nil {
		return answer, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.known == nil || len(m.known) >= mostHolds {
		m.known = make(map[string]figure.Answer[thermal.HoldResult])
	}
	m.known[string(key)] = answer
	return answer, nil
}

// forTarget is the hold that the calculator cook finds for the target of in,
// by the calculator or from what is kept.
func (m *holdMemo) forTarget(in thermal.CookInput) (thermal.Band, error) {
	key, err := json.Marshal(in)
	if err != nil {
		return thermal.Band{}, err
	}
	m.mu.Lock()
	hold, ok := m.targets[string(key)]
	m.mu.Unlock()
	if ok {
		return hold, nil
	}
	answer, err := thermal.Cook(in)
	if err != nil {
		return thermal.Band{}, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.targets == nil || len(m.targets) >= mostHolds {
		m.targets = make(map[string]thermal.Band)
	}
	m.targets[string(key)] = answer.Result.HoldForTargetMin
	return answer.Result.HoldForTargetMin, nil
}
