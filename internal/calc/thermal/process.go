package thermal

import (
	"math"
	"slices"

	"pinset/internal/units"
)

// vessel is one container with its contents, cut into cells.
type vessel struct {
	body   *body
	medium *medium
	steam  Faces // while in the pot
	air    Faces // on the bench
}

// process is what the chamber does. Temperatures in °C, times in minutes.
type process struct {
	start, chamber float64 // at the beginning, and while holding
	comeUp, hold   float64
	cool, coolEnd  float64 // length of the cooling in the pot, and the chamber at its end
	room           float64
}

// usualPace keeps all cells within 0.015 °C of the exact course of the same
// cells after a come-up of minutes, for the step is of second order and only
// its first-order part is held to tol. Three minutes between readings leave a
// lethality good to 0.2 %.
var usualPace = pace{tol: 0.1, longest: 180}

// longestHold bounds the search for a hold.
const longestHold = 24 * 60.0

// heating is a vessel on its way through a process.
type heating struct {
	vessel vessel
	state  *conduction
	probe  *probe
	minute float64
}

// branch returns a heating that goes on from the state of h by itself.
func (h *heating) branch() *heating {
	p := *h.probe
	p.minute, p.chamber, p.line, p.f = slices.Clone(p.minute), slices.Clone(p.chamber), slices.Clone(p.line), slices.Clone(p.f)
	return &heating{vessel: h.vessel, state: h.state.clone(), probe: &p, minute: h.minute}
}

// onTheBench returns a heating that goes on from the state of h with another
// film of air, its own probe and its own clock.
func (h *heating) onTheBench(air Faces) *heating {
	v := h.vessel
	v.air = air
	s := h.state.clone()
	return &heating{vessel: v, state: s, probe: newProbe(s, h.probe.chamber[len(h.probe.chamber)-1])}
}

// newHeating puts v into the pot.
func newHeating(v vessel, p process) *heating {
	s := newConduction(v.body, v.medium, p.start)
	return &heating{vessel: v, state: s, probe: newProbe(s, p.start)}
}

// stretch goes on under the surroundings a, until the time is up or until
// more says no.
func (h *heating) stretch(a surround, more func() bool) error {
	if a.minutes == 0 {
		return nil
	}
	from := h.minute
	steps := usualPace
	if a.faces == h.vessel.air {
		steps.longest = 600 // nothing is earned there
	}
	_, err := h.state.run(a, steps, func(sec float64) bool {
		h.minute = from + sec/60
		h.probe.see(h.minute, a.at(sec), h.state)
		return more == nil || more()
	})
	return err
}

// comeUp heats the pot to its temperature.
func (h *heating) comeUp(p process) error {
	return h.stretch(surround{p.comeUp, p.start, p.chamber, h.vessel.steam}, nil)
}

// hold keeps the pot at its temperature for minutes, or until more says no.
func (h *heating) hold(p process, minutes float64, more func() bool) error {
	return h.stretch(surround{minutes, p.chamber, p.chamber, h.vessel.steam}, more)
}

// coolInPot lets the closed pot cool.
func (h *heating) coolInPot(p process) error {
	return h.stretch(surround{p.cool, p.chamber, p.coolEnd, h.vessel.steam}, nil)
}

// coolInAir leaves the vessel on the bench until its centre line is below
// target, and returns the minutes that took; false if two days do not do it.
func (h *heating) coolInAir(p process, target float64) (float64, bool, error) {
	from, before, now := h.minute, hottestOf(h.probe.last()), hottestOf(h.probe.last())
	if now < target {
		return 0, true, nil
	}
	err := h.stretch(surround{2 * 24 * 60, p.room, p.room, h.vessel.air}, func() bool {
		before, now = now, hottestOf(h.probe.last())
		return !(now < target)
	})
	if err != nil || !(now < target) {
		return 0, false, err
	}
	n := len(h.probe.minute) - 1
	last := h.probe.minute[n] - h.probe.minute[n-1]
	return h.minute - from - last*(target-now)/(before-now), true, nil
}

// last is the newest row of the centre line.
func (p *probe) last() []float64 { return p.line[len(p.line)-1] }

// hottestOf returns the greatest of a row.
func hottestOf(row []float64) float64 {
	top := math.Inf(-1)
	for _, t := range row {
		top = max(top, t)
	}
	return top
}

// least returns the smallest lethality so far on the centre line.
func (p *probe) least() float64 {
	return math.Exp(p.coldest().read(logs(p.f)))
}

// logs returns the natural logarithms; a lethality is never quite 0.
func logs(f []float64) []float64 {
	out := make([]float64, len(f))
	for i, v := range f {
		out[i] = math.Log(max(v, 1e-300))
	}
	return out
}

// watch looks for the minute at which the coldest place has earned a target,
// and keeps every state so that a search can set out again from it.
type watch struct {
	h           *heating
	target      float64
	before, now float64  // least lethality before and after the last step
	crossed     *float64 // minute from the beginning
	keep        bool
	kept        []kept
}

// kept is the state of a heating at one minute.
type kept struct {
	minute float64
	heat   []float64
	f      []float64
	line   []float64
}

// newWatch begins to watch h at the beginning of the hold.
func newWatch(h *heating, target float64, keep bool) *watch {
	w := &watch{h: h, target: target, now: h.probe.least(), keep: keep}
	if w.now >= target {
		minute := h.minute
		w.crossed = &minute
	}
	w.take()
	return w
}

// take keeps the state of now.
func (w *watch) take() {
	if !w.keep {
		return
	}
	h := w.h
	w.kept = append(w.kept, kept{h.minute, slices.Clone(h.state.heat), slices.Clone(h.probe.f), h.probe.last()})
}

// see is called after each step of the hold.
func (w *watch) see() {
	w.before, w.now = w.now, w.h.probe.least()
	if w.crossed == nil && w.now >= w.target {
		minute := w.h.crossing(w.target - w.before)
		w.crossed = &minute
	}
	w.take()
}

// crossing returns the minute within the last step at which the coldest place
// had earned need since the step began: the inverse of lethalInterval.
func (h *heating) crossing(need float64) float64 {
	n := len(h.probe.minute) - 1
	q := h.probe.coldest()
	dt := h.probe.minute[n] - h.probe.minute[n-1]
	a, b := q.read(h.probe.line[n-1]), q.read(h.probe.line[n])
	x := math.Ln10 / ReferenceZ * (b - a)
	part := need / lethalInterval(dt, units.Celsius(a), units.Celsius(a), ReferenceC, ReferenceZ) // of dt, at the rate of a
	if math.Abs(x) > 1e-9 {
		part = math.Log1p(x*part) / x
	}
	return h.probe.minute[n-1] + dt*min(part, 1)
}

// holdFor returns the hold after which the coldest place has earned target
// minutes of F0, nothing of the cooling counted, and false if a day does not
// do it.
func holdFor(v vessel, p process, target float64) (float64, bool, error) {
	h := newHeating(v, p)
	if err := h.comeUp(p); err != nil {
		return 0, false, err
	}
	w := newWatch(h, target, false)
	if err := w.until(p, longestHold); err != nil {
		return 0, false, err
	}
	hold, ok := w.hold(p)
	return hold, ok, nil
}

// until holds until the target is crossed, for minutes at most.
func (w *watch) until(p process, minutes float64) error {
	if w.crossed != nil {
		return nil
	}
	return w.h.hold(p, minutes, func() bool { w.see(); return w.crossed == nil })
}

// hold returns the hold that crossed the target, and false if none did.
func (w *watch) hold(p process) (float64, bool) {
	if w.crossed == nil {
		return 0, false
	}
	return max(*w.crossed-p.comeUp, 0), true
}

// totalAfter returns what the coldest place has earned when all is cold, for
// a hold of minutes; it sets out from the last state kept before.
func (w *watch) totalAfter(p process, minutes float64) (float64, error) {
	from := w.kept[0]
	for _, k := range w.kept {
		if k.minute <= p.comeUp+minutes {
			from = k
		}
	}
	h := w.h.from(from)
	if err := h.hold(p, p.comeUp+minutes-from.minute, nil); err != nil {
		return 0, err
	}
	q := h.probe.coldest()
	if err := h.coolInPot(p); err != nil {
		return 0, err
	}
	if _, _, err := h.coolInAir(p, 90); err != nil { // below 90 °C an hour is worth less than 0.05 min
		return 0, err
	}
	return math.Exp(q.read(logs(h.probe.f))), nil
}

// from returns a heating that sets out again from a state kept.
func (h *heating) from(k kept) *heating {
	s := newConduction(h.vessel.body, h.vessel.medium, 20)
	s.restore(k.heat)
	p := newProbe(s, 0)
	p.minute, p.line, p.f = []float64{k.minute}, [][]float64{k.line}, slices.Clone(k.f)
	return &heating{vessel: h.vessel, state: s, probe: p, minute: k.minute}
}

// holdWithCooling returns the hold after which the coldest place will have
// earned the target once all is cold. Upper is a hold that is long enough.
// The root of log(total/target) is found by false position.
func (w *watch) holdWithCooling(p process, upper float64) (float64, error) {
	miss := func(minutes float64) (float64, error) {
		f, err := w.totalAfter(p, minutes)
		return math.Log(max(f, 1e-300) / w.target), err
	}
	lo, hi := 0.0, upper
	missLo, err := miss(lo)
	if err != nil || missLo >= 0 {
		return 0, err
	}
	missHi, err := miss(hi)
	if err != nil {
		return 0, err
	}
	if missHi <= 0 {
		return hi, nil
	}
	return falsePosition(miss, lo, hi, missLo, missHi)
}

// falsePosition closes in on the root of miss between lo (miss below 0) and
// hi (above 0) by the Illinois rule, until miss is below 1e-4 or the bracket
// below 0.01, and returns the upper side.
func falsePosition(miss func(float64) (float64, error), lo, hi, missLo, missHi float64) (float64, error) {
	side := 0
	for range 60 {
		mid := hi - missHi*(hi-lo)/(missHi-missLo)
		now, err := miss(mid)
		if err != nil {
			return 0, err
		}
		switch {
		case now >= 0 && now < 1e-4:
			return mid, nil
		case now > 0:
			hi, missHi = mid, now
			if side > 0 {
				missLo /= 2
			}
			side = 1
		default:
			lo, missLo = mid, now
			if side < 0 {
				missHi /= 2
			}
			side = -1
		}
		if hi-lo < 0.01 {
			break
		}
	}
	return hi, nil
}
