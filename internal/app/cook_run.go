package app

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
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
func (c cookFacts) alarms(standing CookStanding, a CookAdvice, now time.Time) []Alarm {
	w := alarmWatch{c: c, now: now, standing: standing, advised: a.AdvisedMin}
	heatUp, dryAt := c.expected(a)
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
	advised           *float64 // minutes of hold, nil if nothing is
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
		minutes, why = *heatUp, "reckoned from burner, pot and load"
		if w.c.cooker != nil && w.c.cooker.Figures.HeatUpMin != nil {
			why = "by the record of the cooker"
		}
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
	if !(hold == 0 || minutes < hold) {
		return
	}
	if at := after(w.reached, minutes); !w.isOff || at.Before(w.off) {
		w.add(Alarm{ID: alarmID("water", w.reached), What: w.c.alarmWords().water, Why: why, At: at}, w.off)
	}
}

// hold is the alarm for a stretch that is, or will be, long enough.
func (w *alarmWatch) hold() {
	for _, s := range w.standing.Stretches {
		rule := float64(w.c.cook.Hold)
		at := after(s.From, rule)
		if rule == 0 || !s.Open && s.To.Before(at) {
			continue
		}
		own := Alarm{ID: alarmID("hold", s.From), What: w.c.alarmWords().enough, Why: fmt.Sprintf("%s without a break", w.c.cook.Hold), At: at}
		if longer := w.longer(rule); longer > 0 {
			own.What = "Your own rule is met: hold on for what is advised here"
			own.Why = fmt.Sprintf("%s without a break; the same kill takes %s here", w.c.cook.Hold, wholeUp(longer))
			if then := after(s.From, longer); s.Open || !s.To.Before(then) {
				w.add(Alarm{ID: alarmID("advised", s.From), What: w.c.alarmWords().enough, Why: fmt.Sprintf("%s without a break, as advised", wholeUp(longer)), At: then}, w.off)
			}
		}
		w.add(own, w.off)
	}
}

// longer is the advised hold where it is longer than the rule, else 0.
func (w *alarmWatch) longer(rule float64) float64 {
	if w.advised == nil || *w.advised < rule+1 {
		return 0
	}
	return math.Ceil(*w.advised - 1.0/60)
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

	Near       []NearReading
	AsksLid    bool     // how a lid vents is not known
	StartC     *float64 // the load as the heat goes on, nil if it was not logged
	AdvisedMin *float64 // of hold, where more than the own rule is advised; nil before the target is reached
	Cautions   []figure.Caution
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
	run := CookRun{Kind: facts.kind(), Words: facts.words(), Steps: facts.runSteps(), Near: facts.near()}
	advice, alarms, err := f.alarmsOf(facts)
	if err != nil {
		return run, err
	}
	run.Alarms, run.StartC, run.AsksLid = alarms, facts.startC, facts.asksLid()
	if longer := (&alarmWatch{advised: advice.AdvisedMin}).longer(float64(facts.cook.Hold)); longer > 0 {
		run.AdvisedMin = &longer
	}
	for _, s := range facts.steps {
		if s.Event != lab.Heard {
			run.Logged = append(run.Logged, s)
		}
	}
	if _, run.Over = facts.markAt(lab.Opened); !run.Over {
		run.NextStep = facts.nextStep(run.Steps)
		run.Cautions = facts.dangers(advice)
	}
	return run, nil
}

// nextStep is the first step after the last one that was done, "" if none is
// left: what was passed over is not asked for again.
func (c cookFacts) nextStep(steps []RunStep) lab.Event {
	_, isOff := c.markAt(lab.HeatOff)
	begin := 0
	for i, s := range steps {
		if !s.At.IsZero() {
			begin = i + 1
		}
	}
	for _, s := range steps[begin:] {
		if s.Event.IsStep() && (s.Event == lab.Zero && isOff || s.Event != lab.Zero && len(c.marks) == 0) {
			return s.Event
		}
	}
	return ""
}

// dangers are what is to be mended at once while a cook runs.
func (c cookFacts) dangers(a CookAdvice) []figure.Caution {
	out := []figure.Caution{}
	_, isOff := c.markAt(lab.HeatOff)
	if last := c.stepValue(lab.GaugeAt); last != nil && c.rated() != nil && *last > *c.rated()+0.01 && !isOff {
		out = append(out, figure.Caution{
			Code: "above_rating", Title: "Above the rating of the vessel", Weight: figure.Stop,
			Text: fmt.Sprintf("The gauge showed %.4g psi, and the nameplate of %s says %.4g psi. Turn the heat off now, keep away from weight and lid, and let it fall by itself. Then find out why it rose: a blocked vent, a loaded weight or a wrong gauge.", *last, c.cooker.Name, *c.rated()),
		})
	}
	if _, hasBegun := c.markAt(lab.Reached); hasBegun && !isOff {
		for _, x := range a.Cautions {
			if x.Code == "not_enough_water" {
				x.Text = fmt.Sprintf("%.2f L were poured, at least %.2f L are needed. Never open or refill it under pressure: heat off before it boils dry, let it come down by itself, pour, and begin the whole hold anew.", *a.PouredL, *a.PourL)
				out = append(out, x)
			}
		}
	}
	return out
}

// alarmsOf reckons the alarms from the records, and what they rest on.
func (f *Farm) alarmsOf(c cookFacts) (CookAdvice, []Alarm, error) {
	standing, err := standCook(c.cook, c.marks, f.now())
	if err != nil {
		return CookAdvice{}, nil, err
	}
	a := CookAdvice{PouredL: c.pouredL()}
	if c.cook.Hold > 0 {
		rule := float64(c.cook.Hold)
		a.RuleMin = &rule
	}
	if len(standing.Stretches) > 0 { // nothing asks for it before
		if err := c.adviseHold(&a, 0); err != nil {
			return CookAdvice{}, nil, err
		}
	}
	if err := c.adviseWater(&a); err != nil {
		return CookAdvice{}, nil, err
	}
	return a, c.alarms(standing, a, f.now()), nil
}

// expected is when the target should be reached, from heat on, and when the
// water is gone, from the target, in minutes; nil where it is not known.
func (c cookFacts) expected(a CookAdvice) (heatUp, dry *float64) {
	heatUp = a.HeatUpMin
	if heatUp != nil && (c.cooker == nil || c.cooker.Figures.HeatUpMin == nil) {
		vented := *heatUp + c.ventMin()
		heatUp = &vented
	}
	if a.Water != nil && a.PouredL != nil {
		dry = a.Water.Result.DryAtMin
	}
	return heatUp, dry
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
		_, alarms, err := f.alarmsOf(c)
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
	ids := each(cooks, func(c lab.Cook) lab.CookID { return c.ID })
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
