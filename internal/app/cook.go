package app

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// NewCook is a cook as typed.
type NewCook struct {
	ID     lab.CookID
	Name   string
	Cooker string
	Layers int
	Hold   string // the grower's own rule, such as "60 min"
	Gauge  string // the target, such as "15 psi"
	Day    string
	Note   string
}

// AddCook plans a cook. It gets the next number.
func (f *Farm) AddCook(ctx context.Context, n NewCook) (lab.Cook, error) {
	var c lab.Cook
	err := f.store.Write(ctx, func(w store.Writer) error {
		if n.ID != "" {
			if kept, err := w.Cook(ctx, n.ID); err == nil {
				c = kept
				return nil
			}
		}
		day, err := f.when(ctx, w, "day", n.Day)
		if err != nil {
			return err
		}
		c, err = f.newCook(ctx, w, n, day)
		return err
	})
	return c, err
}

// newCook checks n, numbers it and stores it.
func (f *Farm) newCook(ctx context.Context, w store.Writer, n NewCook, day lab.When) (lab.Cook, error) {
	c, err := cookOf(n, day)
	if err != nil {
		return lab.Cook{}, err
	}
	settings, err := readSettings(ctx, w)
	if err != nil {
		return lab.Cook{}, err
	}
	c.Altitude = settings.Altitude
	if err := checkRating(ctx, w, c); err != nil {
		return lab.Cook{}, err
	}
	last, err := w.LastCookNumber(ctx)
	if err != nil {
		return lab.Cook{}, err
	}
	c.Number = last + 1
	return c, w.AddCook(ctx, c)
}

func cookOf(n NewCook, day lab.When) (lab.Cook, error) {
	hold, err := optional("hold", n.Hold, parseMinutes)
	if err != nil {
		return lab.Cook{}, err
	}
	if hold == 0 && strings.TrimSpace(n.Hold) != "" {
		return lab.Cook{}, lab.Invalidf("hold", "write your own rule, such as 90 min, or leave it blank if it is not settled", "a hold of no time cooks nothing")
	}
	if strings.TrimSpace(n.Gauge) != "" {
		if _, err := parseTarget(n.Gauge); err != nil {
			return lab.Cook{}, atField("gauge", err)
		}
	}
	c := lab.Cook{
		ID: n.ID, Name: strings.TrimSpace(n.Name), Cooker: strings.TrimSpace(n.Cooker), Layers: n.Layers,
		Hold: hold, Gauge: strings.TrimSpace(n.Gauge), Day: day, Note: n.Note,
	}
	if c.ID == "" {
		c.ID = newID[lab.CookID]()
	}
	return c.Check()
}

// parseMinutes reads a duration; a bare number is minutes.
func parseMinutes(s string) (units.Minute, error) {
	q, err := units.ParseIn(s, "min")
	return units.Minute(q.Value), err
}

// Stretch is an unbroken time at or above a cook's target.
type Stretch struct {
	From, To time.Time // To is now while Open
	Open     bool
	Minutes  float64
	Counts   bool // the one that the cook is judged by
}

// CookStanding says what a cook's marks come to.
type CookStanding struct {
	State     lab.CookState
	Stretches []Stretch
	Longest   float64    // minutes
	AheadMin  float64    // that the last mark is later than the clock: it was moved
	Unended   bool       // marks, but no end within a day: what happened is not known
	MetAt     *time.Time // when the hold was long enough
}

// standCook judges a cook by its marks: the hold that counts is the longest
// unbroken stretch at or above the target, and nothing rescues it.
func standCook(c lab.Cook, marks []lab.CookMark, now time.Time) (CookStanding, error) {
	marks = lab.CurrentMarks(marks)
	s := CookStanding{State: lab.Unmarked}
	log, off := cookLog(marks)
	if len(log) == 0 {
		return s, nil
	}
	stretches, err := thermal.Stretches(log)
	if err != nil {
		return s, err
	}
	last := log[len(log)-1].At
	s.AheadMin = max(last.Sub(now).Minutes(), 0)
	s.Unended = !off && now.Sub(last) > runsFor
	if s.Unended {
		now = last // what is known ends with the last mark
	}
	best := -1
	for i, st := range stretches {
		closed := st.Until(now)
		minutes, _ := closed.Minutes()
		s.Stretches = append(s.Stretches, Stretch{From: closed.From, To: closed.To, Open: st.Open && !s.Unended, Minutes: minutes})
		if minutes > s.Longest || best < 0 {
			best, s.Longest = i, minutes
		}
		if need := float64(c.Hold); s.MetAt == nil && need > 0 && minutes >= need {
			at := closed.From.Add(time.Duration(need * float64(time.Minute)))
			s.MetAt = &at
		}
	}
	if best >= 0 {
		s.Stretches[best].Counts = true
	}
	s.State = cookState(c, s, off)
	return s, nil
}

func cookState(c lab.Cook, s CookStanding, off bool) lab.CookState {
	switch {
	case s.Unended:
		return lab.Unmarked
	case !off:
		return lab.CookRunning
	case c.Hold == 0:
		return lab.Unmarked
	case s.MetAt != nil:
		return lab.Held
	}
	return lab.NotHeld
}

// cookLog turns marks into the hold log, and reports whether the heat is off.
// An opened cooker is a heat that is off.
func cookLog(marks []lab.CookMark) (log []thermal.Mark, off bool) {
	for _, m := range marks {
		event := thermal.Event(m.Event)
		if m.Event == lab.Opened {
			if off {
				continue
			}
			event = thermal.HeatOff
		}
		if event == thermal.HeatOff {
			off = true
		}
		log = append(log, thermal.Mark{At: m.At.Time, Event: event})
	}
	return log, off
}

// CookRow is a cook with what its marks come to.
type CookRow struct {
	lab.Cook
	CookStanding
	Jars, Blanks int
	Batches      []string
	Sentence     string // the verdict in one sentence
}

// Cooks returns the newest cooks, newest first, at most 120.
func (f *Farm) Cooks(ctx context.Context) ([]CookRow, error) {
	rows, _, err := f.CooksBelow(ctx, 0)
	return rows, err
}

// CooksBelow returns those whose numbers are under one, as Cooks does; 0 is
// from the newest. There may be more under the number older, none if it is 0.
func (f *Farm) CooksBelow(ctx context.Context, number int) (rows []CookRow, older int, err error) {
	err = f.store.Read(ctx, func(r store.Reader) error {
		var cooks []lab.Cook
		var err error
		if number > 0 {
			cooks, err = r.CooksBelow(ctx, number, listed)
		} else {
			cooks, err = r.Cooks(ctx, listed)
		}
		if err != nil {
			return err
		}
		if len(cooks) == listed {
			older = cooks[listed-1].Number
		}
		rows, err = f.cookRows(ctx, r, cooks)
		return err
	})
	return rows, older, err
}

// cookRows adds to cooks what their marks come to and what stood in them.
func (f *Farm) cookRows(ctx context.Context, r store.Reader, cooks []lab.Cook) ([]CookRow, error) {
	rows, _, err := f.cookRowsWithLoads(ctx, r, cooks)
	return rows, err
}

// cookRowsWithLoads returns with them which batches stood in each.
func (f *Farm) cookRowsWithLoads(ctx context.Context, r store.Reader, cooks []lab.Cook) ([]CookRow, []store.Load, error) {
	ids := each(cooks, func(c lab.Cook) lab.CookID { return c.ID })
	var marks []lab.CookMark
	if len(ids) > 0 {
		var err error
		if marks, err = r.CookMarks(ctx, ids...); err != nil {
			return nil, nil, err
		}
	}
	byCook := make(map[lab.CookID][]lab.CookMark)
	for _, m := range marks {
		byCook[m.Cook] = append(byCook[m.Cook], m)
	}
	rows := make([]CookRow, len(cooks))
	for i, c := range cooks {
		standing, err := standCook(c, byCook[c.ID], f.now())
		if err != nil {
			return nil, nil, fmt.Errorf("marks of %s: %w", c, err)
		}
		rows[i] = CookRow{Cook: c, CookStanding: standing, Sentence: cookSentence(c, standing)}
	}
	loads, err := r.Loads(ctx, ids...)
	addLoads(rows, loads)
	return rows, loads, err
}

// addLoads counts into rows the jars that stood in each cook.
func addLoads(rows []CookRow, loads []store.Load) {
	at := make(map[lab.CookID]*CookRow, len(rows))
	for i := range rows {
		at[rows[i].ID] = &rows[i]
	}
	for _, l := range loads {
		c := at[l.Cook]
		c.Jars += l.Jars
		c.Blanks += l.Blanks
		c.Batches = append(c.Batches, lab.BatchName(l.Number))
	}
}

// cookSentence says what is known of a cook, no more.
func cookSentence(c lab.Cook, s CookStanding) string {
	longest := units.Minute(s.Longest).String()
	switch {
	case s.Unended:
		return "No end was logged: how long it held is not known. Say what happened, with the time, if somebody knows."
	case len(s.Stretches) == 0 && s.State == lab.Unmarked:
		return "No marks: whether it held is not known."
	case s.State == lab.Unmarked:
		return fmt.Sprintf("The longest unbroken stretch was %s; no hold is set to judge it by.", longest)
	case s.State == lab.Held:
		return fmt.Sprintf("Held: %s without a break, %s were needed.", longest, c.Hold)
	case s.State == lab.NotHeld:
		return fmt.Sprintf("Did not hold: the longest unbroken stretch was %s, %s were needed.", longest, c.Hold)
	case s.MetAt != nil:
		return fmt.Sprintf("Running: %s without a break, long enough for %s.", longest, c.Hold)
	case !slices.ContainsFunc(s.Stretches, func(x Stretch) bool { return x.Open }):
		return fmt.Sprintf("The target is lost: nothing counts until it is back, and the hold begins anew. The longest stretch so far was %s.", longest)
	}
	return fmt.Sprintf("Running: %s without a break so far.", longest)
}

// CookMarkView is a mark with whether it was taken back.
type CookMarkView struct {
	lab.CookMark
	Undone bool
}

// CookView is all that one cook's page shows.
type CookView struct {
	CookRow
	Marks    []CookMarkView
	Load     []store.JarRow // by batch and number
	Items    []lab.CookItem // of no batch
	Next     []lab.Event    // the marks that may come next
	Cautions []figure.Caution
}

// CookView returns the cook called name: its number, "cook 7" or its own name.
func (f *Farm) CookView(ctx context.Context, name string) (CookView, error) {
	var v CookView
	err := f.store.Read(ctx, func(r store.Reader) error {
		c, err := r.CookByName(ctx, name)
		if err != nil {
			return err
		}
		v, err = f.viewCook(ctx, r, c)
		return err
	})
	return v, err
}

func (f *Farm) viewCook(ctx context.Context, r store.Reader, c lab.Cook) (CookView, error) {
	rows, err := f.cookRows(ctx, r, []lab.Cook{c})
	if err != nil {
		return CookView{}, err
	}
	v := CookView{CookRow: rows[0]}
	marks, err := r.CookMarks(ctx, c.ID)
	if err != nil {
		return v, err
	}
	holds := make(map[lab.EntryID]bool)
	for _, m := range lab.CurrentMarks(marks) {
		holds[m.ID] = true
	}
	last := lab.Event("")
	for _, m := range marks {
		if !m.Withdrawn {
			v.Marks = append(v.Marks, CookMarkView{m, !holds[m.ID]})
		}
	}
	for _, m := range lab.CurrentMarks(marks) {
		last = m.Event
	}
	v.Next = nextEvents(last)
	items, err := r.CookItems(ctx, c.ID)
	if err != nil {
		return v, err
	}
	v.Items = lab.Current(items)
	if v.Load, err = r.Jars(ctx, store.JarFilter{Cooks: []lab.CookID{c.ID}}); err != nil {
		return v, err
	}
	kind, err := kindOf(ctx, r, c)
	if err != nil {
		return v, err
	}
	v.Cautions = cookCautions(v, kind)
	return v, nil
}

// nextEvents returns the marks that may follow last.
func nextEvents(last lab.Event) []lab.Event {
	switch last {
	case "":
		return []lab.Event{lab.Reached, lab.HeatOff}
	case lab.Reached, lab.Back:
		return []lab.Event{lab.Broken, lab.HeatOff}
	case lab.Broken:
		return []lab.Event{lab.Back, lab.HeatOff}
	case lab.HeatOff:
		return []lab.Event{lab.Opened}
	}
	return nil
}

// MarkCook logs a mark of the cook called name. A mark that contradicts the
// others is refused.
func (f *Farm) MarkCook(ctx context.Context, a Act, name string, event lab.Event, at string) (CookView, error) {
	var v CookView
	err := f.store.Write(ctx, func(w store.Writer) error {
		c, err := w.CookByName(ctx, name)
		if err != nil {
			return err
		}
		when, err := f.when(ctx, w, "at", at)
		if err != nil {
			return err
		}
		if when.Exactness != lab.Exact {
			return lab.Invalidf("at", "write a clock time, such as 19:40", "a mark of a cook needs the minute")
		}
		deed, err := f.deed(a, "", "%s: %s", c, event.Label())
		if err != nil {
			return err
		}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			return err
		}
		mark := lab.CookMark{Entry: entryOf(deed, when), Cook: c.ID, Event: event}
		if err := f.checkMark(ctx, w, c, mark); err != nil {
			return err
		}
		return w.AddCookMarks(ctx, []lab.CookMark{mark})
	})
	if err != nil {
		return v, err
	}
	return f.CookView(ctx, name)
}

// checkMark refuses a mark that would contradict the others.
func (f *Farm) checkMark(ctx context.Context, r store.Reader, c lab.Cook, m lab.CookMark) error {
	switch m.Event {
	case lab.Reached, lab.Broken, lab.Back, lab.HeatOff, lab.Opened:
	default:
		return lab.Invalidf("event", "choose reached, lost, back, heat_off or opened", "%q is not a mark of a cook", m.Event)
	}
	marks, err := r.CookMarks(ctx, c.ID)
	if err != nil {
		return err
	}
	_, err = standCook(c, append(marks, m), f.now())
	var fault *figure.Fault
	if !errors.As(err, &fault) {
		return err
	}
	if last, ok := lastMark(marks); ok && m.At.Time.Before(last.At.Time) {
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		return lab.Invalidf("at", "write the time at which it happened; if the clock of this machine went back, set it right first",
			"%s at %s would come before %s at %s, which is logged", m.Event.Label(), m.At.Time.In(s.Zone).Format("15:04"), last.Event.Label(), last.At.Time.In(s.Zone).Format("15:04"))
	}
	return &lab.Problem{Kind: lab.Conflict, Field: "event", What: fault.What, Mend: fault.Mend}
}

// lastMark is the latest mark that holds.
func lastMark(marks []lab.CookMark) (lab.CookMark, bool) {
	now := lab.CurrentMarks(marks)
	if len(now) == 0 {
		return lab.CookMark{}, false
	}
	return now[len(now)-1], true
}

// entryOf begins an entry of deed d that happened at w.
func entryOf(d lab.Deed, w lab.When) lab.Entry {
	return lab.Entry{ID: newID[lab.EntryID](), Deed: d.ID, At: w, Entered: d.Entered, By: d.By}
}

func cookCautions(v CookView, kind lab.CookerKind) []figure.Caution {
	out := []figure.Caution{manualCaution(kind)}
	if v.AheadMin > 1 {
		out = append(out, figure.Caution{
			Code: "clock_behind", Title: "The clock was moved", Weight: figure.Stop,
			Text: fmt.Sprintf("The last mark is %.0f min later than the clock of the machine that runs Pinset. Set that clock right, or take the mark back and log it with its time: until then alarms come late and the hold does not count on.", v.AheadMin),
		})
	}
	switch {
	case v.Unended:
		out = append(out, figure.Caution{
			Code: "cook_left_open", Title: "This cook was left without an end", Weight: figure.Stop,
			Text: "A day has passed since its last mark. Log heat off, or lost, with its clock time. If nobody saw it, or the pot ran dry, nothing is known: hold its jars back and cook them again.",
		})
	case v.State == lab.Unmarked:
		out = append(out, figure.Caution{
			Code: "cook_unknown", Title: "Whether it held is not known", Weight: figure.Care,
			Text: "Nothing says how long this cook stood at its target. Keep a blank jar warm: if it fouls, the cook is suspect.",
		})
	case v.State == lab.NotHeld:
		out = append(out, figure.Caution{
			Code: "cook_not_held", Title: "This cook did not hold", Weight: figure.Stop,
			Text: fmt.Sprintf("Only the longest unbroken stretch counts: %s of %s. Its jars are held back; cook them again, or give a reason when you inoculate them all the same.", units.Minute(v.Longest), v.Hold),
		})
	}
	return out
}

// pressureCaution stands on everything that leads to a cooker.
var pressureCaution = figure.Caution{
	Code: "pressure", Title: "The maker's manual comes first", Weight: figure.Stop,
	Text: "Never above the rating, never dry, vent the air first. Let it come down by itself; open only at zero pressure, lid away from the face. Jars stay hot inside and can boil over or burst.",
}
