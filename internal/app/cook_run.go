package app

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// Alarm is something that is to be done at a time in a running cook. Times
// follow from what was logged, so that they are the same on every page.
type Alarm struct {
	ID       string    `json:"id"` // stays the same as long as what it rests on
	Cook     int       `json:"cook"`
	What     string    `json:"what"`
	Why      string    `json:"why"`
	At       time.Time `json:"at"`
	Due      bool      `json:"due"`      // it is time, and nobody has answered
	Answered bool      `json:"answered"` // heard, or what it asks for was logged
	LateMin  float64   `json:"late_min"` // until the answer, or until now
}

// Missed reports whether the alarm was answered late, or not yet.
func (a Alarm) Missed() bool { return a.LateMin >= 1 }

// usualComeUp is when a pot should have reached its pressure if nothing is
// known of it, minutes with venting. Common practice, no source.
const usualComeUp = 45

// alarms returns the alarms of a cook by time.
func (c cookFacts) alarms(standing CookStanding, heatUp *float64, dryAt *float64, now time.Time) []Alarm {
	w := alarmWatch{c: c, now: now, standing: standing}
	w.reached, w.hasReached = c.markAt(lab.Reached)
	w.off, w.isOff = c.markAt(lab.HeatOff)
	if opened, ok := c.markAt(lab.Opened); ok && !w.isOff {
		w.off, w.isOff = opened, true
	}
	w.pressure(heatUp)
	w.water(dryAt)
	w.hold()
	w.opening()
	slices.SortStableFunc(w.out, func(a, b Alarm) int { return a.At.Compare(b.At) })
	return w.out
}

// alarmWatch gathers the alarms of one cook.
type alarmWatch struct {
	c                 cookFacts
	now               time.Time
	standing          CookStanding
	reached, off      time.Time
	hasReached, isOff bool
	out               []Alarm
}

func (w *alarmWatch) add(a Alarm, answer time.Time) {
	a.Cook = w.c.cook.Number
	w.out = append(w.out, w.c.answered(a, answer, w.now))
}

// pressure is the alarm for a target that should have been reached.
func (w *alarmWatch) pressure(heatUp *float64) {
	on, ok := w.c.stepAt(lab.HeatOn)
	if !ok || w.isOff && !w.hasReached {
		return
	}
	minutes, why := float64(usualComeUp), "nothing is known of this cooker: 45 min is a usual time with venting"
	if heatUp != nil {
		minutes, why = *heatUp, "by the record of the cooker"
	}
	w.add(Alarm{ID: alarmID("pressure", on), What: w.c.alarmWords().late, Why: why, At: after(on, minutes)}, w.reached)
}

// water is the alarm to think of the water, before the pot can run dry.
func (w *alarmWatch) water(dryAt *float64) {
	if !w.hasReached {
		return
	}
	hold := float64(w.c.cook.Hold)
	minutes, why := 60.0, "the water poured in, or how fast it is lost, is not known"
	if dryAt != nil {
		minutes, why = 0.75**dryAt, fmt.Sprintf("reckoned dry after %.0f min of the hold", *dryAt)
	}
	if !(hold == 0 || minutes < hold || dryAt == nil && hold > 60) {
		return
	}
	if at := after(w.reached, minutes); !w.isOff || at.Before(w.off) {
		w.add(Alarm{ID: alarmID("water", w.reached), What: w.c.alarmWords().water, Why: why, At: at}, w.off)
	}
}

// hold is the alarm for a stretch that is, or will be, long enough.
func (w *alarmWatch) hold() {
	for _, s := range w.standing.Stretches {
		if at := after(s.From, float64(w.c.cook.Hold)); w.c.cook.Hold > 0 && (s.Open || !s.To.Before(at)) {
			w.add(Alarm{ID: alarmID("hold", s.From), What: w.c.alarmWords().enough, Why: fmt.Sprintf("%s without a break", w.c.cook.Hold), At: at}, w.off)
		}
	}
}

// opening is the alarm for the wait before the lid: from zero pressure, or,
// where there never was any, from heat off.
func (w *alarmWatch) opening() {
	from, ok := w.c.stepAt(lab.Zero)
	if w.c.kind() == lab.Steamer {
		from, ok = w.c.markAt(lab.HeatOff)
	}
	if !ok {
		return
	}
	opened, _ := w.c.markAt(lab.Opened)
	w.add(Alarm{ID: alarmID("open", from), What: w.c.alarmWords().open, Why: "lid away from the face; what is in the jars can still boil over", At: after(from, 10)}, opened)
}

func alarmID(what string, from time.Time) string { return fmt.Sprintf("%s-%d", what, from.Unix()) }

func after(t time.Time, minutes float64) time.Time {
	return t.Add(time.Duration(minutes * float64(time.Minute)))
}

// answered says whether and when somebody answered a: by hearing it, or by
// logging what it asks for.
func (c cookFacts) answered(a Alarm, logged time.Time, now time.Time) Alarm {
	heard := time.Time{}
	for _, s := range c.steps {
		if s.Event == lab.Heard && s.Typed == a.ID && (heard.IsZero() || s.At.Time.Before(heard)) {
			heard = s.At.Time
		}
	}
	first := heard
	if first.IsZero() || !logged.IsZero() && logged.Before(first) {
		first = cmp.Or(logged, first)
	}
	a.Answered = !first.IsZero()
	until := now
	if a.Answered {
		until = first
	}
	a.LateMin = max(until.Sub(a.At).Minutes(), 0)
	a.Due = !a.Answered && !now.Before(a.At)
	return a
}

// RunStep is one line of the way through a cook.
type RunStep struct {
	Event   lab.Event // "" for what is only said
	What    string
	Caution string
	At      time.Time // when it was done; zero if it was not logged
}

// CookRun is how a cook goes: the way through it, what is due, and what was
// logged beside the marks.
type CookRun struct {
	Kind     lab.CookerKind
	Words    map[lab.Event]StepWords // for the buttons of this kind of cooker
	Steps    []RunStep
	Alarms   []Alarm
	Logged   []lab.CookStep // without acknowledgements
	NextStep lab.Event      // the next step that was not logged, "" if none
	Over     bool           // the cooker was opened: there is no step left
}

// CookRun returns how the cook called name goes.
func (f *Farm) CookRun(ctx context.Context, name string) (CookRun, error) {
	var facts cookFacts
	err := f.store.Read(ctx, func(r store.Reader) error {
		c, err := r.CookByName(ctx, name)
		if err != nil {
			return err
		}
		facts, err = f.cookFacts(ctx, r, c)
		return err
	})
	if err != nil {
		return CookRun{}, err
	}
	run := CookRun{Kind: facts.kind(), Words: facts.words(), Steps: facts.runSteps()}
	if run.Alarms, err = f.alarmsOf(facts); err != nil {
		return run, err
	}
	for _, s := range facts.steps {
		if s.Event != lab.Heard {
			run.Logged = append(run.Logged, s)
		}
	}
	if _, run.Over = facts.markAt(lab.Opened); run.Over {
		return run, nil
	}
	for _, s := range run.Steps {
		_, isOff := facts.markAt(lab.HeatOff)
		if s.At.IsZero() && s.Event.IsStep() && (s.Event == lab.Zero && isOff || s.Event != lab.Zero && len(facts.marks) == 0) {
			run.NextStep = s.Event
			break
		}
	}
	return run, nil
}

// alarmsOf reckons the alarms from the records.
func (f *Farm) alarmsOf(c cookFacts) ([]Alarm, error) {
	standing, err := standCook(c.cook, c.marks, f.now())
	if err != nil {
		return nil, err
	}
	a := CookAdvice{PouredL: c.pouredL()}
	if c.cook.Hold > 0 {
		rule := float64(c.cook.Hold)
		a.RuleMin = &rule
	}
	if err := c.adviseWater(&a); err != nil {
		return nil, err
	}
	heatUp := a.HeatUpMin
	if heatUp != nil && (c.cooker == nil || c.cooker.Figures.HeatUpMin == nil) {
		vented := *heatUp + c.ventMin()
		heatUp = &vented
	}
	var dry *float64
	if a.Water != nil && a.PouredL != nil {
		dry = a.Water.Result.DryAtMin
	}
	return c.alarms(standing, heatUp, dry, f.now()), nil
}

// runsFor is how long after its last entry a cook that was never opened is
// still taken as under way.
const runsFor = 24 * time.Hour

// Alarms returns the alarms of all cooks that are under way, by time.
func (f *Farm) Alarms(ctx context.Context) ([]Alarm, error) {
	var under []cookFacts
	err := f.store.Read(ctx, func(r store.Reader) error {
		cooks, err := f.underWay(ctx, r)
		if err != nil {
			return err
		}
		for _, c := range cooks {
			facts, err := f.cookFacts(ctx, r, c)
			if err != nil {
				return err
			}
			under = append(under, facts)
		}
		return nil
	})
	out := []Alarm{}
	if err != nil {
		return out, err
	}
	for _, c := range under {
		alarms, err := f.alarmsOf(c)
		if err != nil {
			return out, err
		}
		out = append(out, alarms...)
	}
	slices.SortStableFunc(out, func(a, b Alarm) int { return a.At.Compare(b.At) })
	return out, nil
}

// underWay returns those of the last cooks that are going on.
func (f *Farm) underWay(ctx context.Context, r store.Reader) ([]lab.Cook, error) {
	cooks, err := r.Cooks(ctx, 20)
	if err != nil {
		return nil, err
	}
	ids := make([]lab.CookID, len(cooks))
	for i, c := range cooks {
		ids[i] = c.ID
	}
	marks, err := r.CookMarks(ctx, ids...)
	if err != nil {
		return nil, err
	}
	steps, err := r.CookSteps(ctx, ids...)
	if err != nil {
		return nil, err
	}
	marksOf := groupBy(marks, func(m lab.CookMark) lab.CookID { return m.Cook })
	stepsOf := groupBy(steps, func(s lab.CookStep) lab.CookID { return s.Cook })
	return slices.DeleteFunc(cooks, func(c lab.Cook) bool {
		return !f.isUnderWay(lab.CurrentMarks(marksOf[c.ID]), lab.CurrentSteps(stepsOf[c.ID]))
	}), nil
}

func (f *Farm) isUnderWay(marks []lab.CookMark, steps []lab.CookStep) bool {
	var last time.Time
	for _, m := range marks {
		if m.Event == lab.Opened {
			return false
		}
		last = m.At.Time
	}
	for _, s := range steps {
		if s.At.Time.After(last) {
			last = s.At.Time
		}
	}
	return !last.IsZero() && f.now().Sub(last) < runsFor
}

// StepCook logs an event of the cook called name around its hold. typed is
// the amount of water or the reading of the gauge; of an acknowledgement, the
// alarm. Nothing about the hold changes.
func (f *Farm) StepCook(ctx context.Context, a Act, name string, event lab.Event, typed, at string) (lab.DeedID, error) {
	if !event.IsStep() {
		return "", lab.Invalidf("event", "choose fill, mass, start, barometer, water, heat_on, vent, weight_on, gauge, reads, zero or water_left", "%q is not a step of a cook", event)
	}
	value, err := stepValue(event, typed)
	if err != nil {
		return "", err
	}
	var id lab.DeedID
	return id, f.store.Write(ctx, func(w store.Writer) error {
		c, err := w.CookByName(ctx, name)
		if err != nil {
			return err
		}
		when, err := f.when(ctx, w, "at", at)
		if err != nil {
			return err
		}
		if when.Exactness != lab.Exact {
			return lab.Invalidf("at", "write a clock time, such as 19:40", "a step of a cook needs the minute")
		}
		what := event.Label()
		if typed != "" && event != lab.Heard {
			what += " " + strings.TrimSpace(typed)
		}
		deed, err := f.deed(a, "", "%s: %s", c, what)
		if err != nil {
			return err
		}
		id = deed.ID
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			return err
		}
		return w.AddCookSteps(ctx, []lab.CookStep{{Entry: entryOf(deed, when), Cook: c.ID, Event: event, Typed: strings.TrimSpace(typed), Value: value}})
	})
}

// stepValue reads what a step carries.
func stepValue(event lab.Event, typed string) (float64, error) {
	switch event {
	case lab.FillAt:
		return measuredIn(typed, "mm", 1, 5, 600, "measure the height of the substrate, such as 62 mm")
	case lab.MassAt:
		return measuredIn(typed, "g", 1, 1, 20000, "weigh one jar full and empty, such as 240 g of substrate")
	case lab.StartAt:
		return celsiusIn(typed, 1, 95, "write how warm the load is as the heat goes on, such as 5 °C from the fridge or 20 °C")
	case lab.ReadsAt:
		return celsiusIn(typed, 0, 150, "read the thermometer again, such as 98.5 °C")
	case lab.Barometer:
		return measuredIn(typed, "kPa", 1000, 50, 110, "write the pressure of the air at the pot, not reduced to sea level, such as 96.3 kPa or 963 hPa")
	case lab.WaterLeft:
		return measuredIn(typed, "L", 1, 0, 100000, "write the water that was left, such as 1.9 L")
	case lab.WaterIn:
		ml, err := units.ParseIn(typed, "L")
		if err != nil {
			return 0, atField("typed", err)
		}
		if !(ml.Value > 0 && ml.Value <= 100000) {
			return 0, lab.Invalidf("typed", "write the litres poured in, such as 2.8 L", "%g mL of water can not be", ml.Value)
		}
		return ml.Value, nil
	case lab.GaugeAt:
		if _, err := units.ParsePressure(psiIfBare(typed)); err != nil {
			return 0, atField("typed", err)
		}
		v := gaugePsi(psiIfBare(typed))
		if !(v >= 0 && v <= 50) {
			return 0, lab.Invalidf("typed", "read the gauge again; in psi unless a unit is written", "a gauge at %g psi can not be", v)
		}
		return v, nil
	case lab.Heard:
		if len(typed) == 0 || len(typed) > 40 {
			return 0, lab.Invalidf("typed", "reload the page", "which alarm was heard is not said")
		}
	}
	return 0, nil
}

// celsiusIn reads a temperature. One that fits only in °F is said to be one.
func celsiusIn(typed string, low, high float64, mend string) (float64, error) {
	t := strings.TrimSpace(typed)
	if strings.Trim(t, "0123456789.,") == "" && t != "" {
		t += " °C"
	}
	v, err := units.ParseTemperature(t)
	if err != nil {
		return 0, atField("typed", err)
	}
	c := math.Round(float64(v)*1e6) / 1e6
	if c >= low && c <= high {
		return c, nil
	}
	if as := (c - 32) / 1.8; as >= low && as <= high {
		mend = fmt.Sprintf("if it was read in °F, write %.4g °F: that is %.1f °C", c, as)
	}
	return 0, lab.Invalidf("typed", mend, "%.4g °C is out of the range %g to %g °C", c, low, high)
}

// measuredIn reads a figure in unit, kept in per of the parsed one.
func measuredIn(typed, unit string, per, low, high float64, mend string) (float64, error) {
	q, err := units.ParseIn(typed, unit)
	if err != nil {
		return 0, atField("typed", err)
	}
	if v := q.Value / per; v >= low && v <= high {
		return v, nil
	}
	return 0, lab.Invalidf("typed", mend, "%q can not be", clipTyped(typed))
}

// psiIfBare gives a bare number the unit of most gauges.
func psiIfBare(typed string) string {
	t := strings.TrimSpace(typed)
	if strings.Trim(t, "0123456789.,") == "" && t != "" {
		return t + " psi"
	}
	return t
}
