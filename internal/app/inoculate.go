package app

import (
	"context"
	"fmt"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// InoculateInput is one inoculation session on one batch, as typed.
type InoculateInput struct {
	Batch    string
	Culture  string // name; "" gives each jar the culture that the plan meant for it
	Means    string // "" follows from the culture
	Amount   string // for each jar, such as "2 mL"
	At       string
	Except   string // numbers left out: "5, 7–9"
	Override string // why jars of a cook that did not hold get it all the same
}

// HeldBack is a jar that does not get the culture, and why.
type HeldBack struct {
	Number      int      `json:"number"`
	Code        lab.Code `json:"code"`
	Why         string   `json:"why"`
	Overridable bool     `json:"overridable"` // by a stated reason
}

// InoculateReport says which jars got, or would get, the culture.
type InoculateReport struct {
	Batch    lab.Batch
	Numbers  []int // of the jars that get it
	Of       int   // jars that are there to be inoculated: blanks and lost jars not counted
	Left     []int // left out by the grower
	HeldBack []HeldBack
	What     string // "24 of 24, 2 mL from LC-3"
	Deed     lab.DeedID
	Repeat   bool
	Cautions []figure.Caution
}

// InoculateDraft says what Inoculate would do and writes nothing.
func (f *Farm) InoculateDraft(ctx context.Context, in InoculateInput) (InoculateReport, error) {
	s := &session{}
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		s, err = f.readSession(ctx, r, in)
		return err
	})
	if err != nil {
		return s.report, err
	}
	warm, err := f.warmCautions(ctx, s.at, s.jars)
	s.report.Cautions = append(warm, s.report.Cautions...)
	return s.report, err
}

// Inoculate puts a culture into all jars of a batch that may get one. Blanks
// never do; jars of a cook that did not hold are held back unless a reason
// is stated, which stays in their history.
func (f *Farm) Inoculate(ctx context.Context, a Act, in InoculateInput) (InoculateReport, error) {
	var report InoculateReport
	var s *session
	err := f.store.Write(ctx, func(w store.Writer) (err error) {
		if a.ID != "" {
			if d, err := w.Deed(ctx, a.ID); err == nil {
				report = InoculateReport{What: d.What, Deed: d.ID, Repeat: true}
				return nil
			}
		}
		if s, err = f.readSession(ctx, w, in); err != nil {
			return err
		}
		report = s.report
		if len(s.jars) == 0 {
			return s.nothing()
		}
		deed, err := f.deed(a, s.report.Batch.ID, "%s: inoculated %s", s.report.Batch, s.report.What)
		if err != nil {
			return err
		}
		report.Deed = deed.ID
		if _, err := w.AddDeed(ctx, deed); err != nil {
			return err
		}
		if err := w.AddInoculations(ctx, s.entries(deed)); err != nil {
			return err
		}
		return restand(ctx, w, idsOf(s.jars))
	})
	if err != nil || report.Repeat {
		return report, err
	}
	warm, err := f.warmCautions(ctx, s.at, s.jars)
	if err != nil {
		return report, err
	}
	report.Cautions = append(warm, report.Cautions...)
	return report, f.keepForecasts(ctx, report.Batch.ID)
}

// session is one inoculation of one batch, read and checked.
type session struct {
	at     lab.When
	means  lab.Means
	amount string
	reason string
	jars   []store.JarRow
	gets   map[lab.JarID]lab.Culture
	forced map[lab.JarID]bool // held back, but the reason sets it aside
	report InoculateReport
}

func (f *Farm) readSession(ctx context.Context, r store.Reader, in InoculateInput) (*session, error) {
	b, err := r.BatchByName(ctx, in.Batch)
	if err != nil {
		return &session{}, err
	}
	s := &session{
		means: lab.Means(strings.TrimSpace(in.Means)), amount: strings.TrimSpace(in.Amount), reason: strings.TrimSpace(in.Override),
		gets: make(map[lab.JarID]lab.Culture), forced: make(map[lab.JarID]bool), report: InoculateReport{Batch: b},
	}
	if s.at, err = f.when(ctx, r, "at", in.At); err != nil {
		return s, err
	}
	if s.amount != "" {
		if _, err := units.Parse(s.amount); err != nil {
			return s, atField("amount", err)
		}
	}
	except, err := readExcept(b, in.Except)
	if err != nil {
		return s, err
	}
	rows, err := r.Jars(ctx, store.JarFilter{Batch: b.ID})
	if err != nil {
		return s, err
	}
	if err := f.sortJars(ctx, r, s, rows, except); err != nil {
		return s, err
	}
	return s, f.chooseCultures(ctx, r, s, in.Culture)
}

// readExcept reads the numbers that are left out.
func readExcept(b lab.Batch, typed string) (map[int]bool, error) {
	except := make(map[int]bool)
	if strings.TrimSpace(typed) == "" {
		return except, nil
	}
	if !strings.ContainsAny(typed, "·:.") {
		typed = b.String() + "·" + typed
	}
	span, err := lab.ParseSpan(typed)
	if err != nil {
		return nil, atField("except", err)
	}
	for _, n := range span.Numbers {
		except[n] = true
	}
	return except, nil
}

// sortJars parts the batch into jars that get the culture, jars that the
// grower leaves out and jars that are held back.
func (f *Farm) sortJars(ctx context.Context, r store.Reader, s *session, rows []store.JarRow, except map[int]bool) error {
	states, err := f.cookStates(ctx, r, rows)
	if err != nil {
		return err
	}
	unknown := 0
	for _, j := range rows {
		why := j.HeldBack(j.Standing, states[j.Cook])
		if j.Blank || j.Fate == lab.Lost {
			continue
		}
		s.report.Of++
		can := j.Overridable(j.Standing, states[j.Cook])
		switch {
		case except[j.Number]:
			s.report.Left = append(s.report.Left, j.Number)
		case why != "" && !(can && s.reason != ""):
			s.report.HeldBack = append(s.report.HeldBack, HeldBack{j.Number, j.Code, why, can})
		default:
			s.jars = append(s.jars, j)
			s.forced[j.Jar.ID] = why != ""
			s.report.Numbers = append(s.report.Numbers, j.Number)
			if states[j.Cook] == lab.Unmarked {
				unknown++
			}
		}
	}
	if unknown > 0 {
		s.report.Cautions = append(s.report.Cautions, figure.Caution{
			Code: "cook_unknown", Title: "Whether the cook held is not known", Weight: figure.Care,
			Text: fmt.Sprintf("%d of these jars come from a cook without marks. Keep a blank warm beside them: if it fouls, the cook is suspect.", unknown),
		})
	}
	if len(s.report.HeldBack) > 0 {
		s.report.Cautions = append(s.report.Cautions, figure.Caution{
			Code: "held_back", Title: figure.Count(len(s.report.HeldBack), "jar is held back", "jars are held back"), Weight: figure.Care,
			Text: "They are listed with the reason. Jars of a cook that did not hold get the culture only with a reason that stays in their history.",
		})
	}
	return nil
}

// cookStates returns the state of every cook that rows stood in.
func (f *Farm) cookStates(ctx context.Context, r store.Reader, rows []store.JarRow) (map[lab.CookID]lab.CookState, error) {
	states := map[lab.CookID]lab.CookState{"": lab.Unmarked}
	var cooks []lab.Cook
	for _, j := range rows {
		if _, ok := states[j.Cook]; ok {
			continue
		}
		c, err := r.Cook(ctx, j.Cook)
		if err != nil {
			return nil, err
		}
		states[j.Cook] = lab.Unmarked
		cooks = append(cooks, c)
	}
	standing, err := f.cookRows(ctx, r, cooks)
	if err != nil {
		return nil, err
	}
	for _, c := range standing {
		states[c.ID] = c.State
	}
	return states, nil
}

// chooseCultures says what each jar gets, and the session in one line.
func (f *Farm) chooseCultures(ctx context.Context, r store.Reader, s *session, named string) error {
	cultures, err := r.Cultures(ctx)
	if err != nil {
		return err
	}
	byID := make(map[lab.CultureID]lab.Culture, len(cultures))
	for _, c := range cultures {
		byID[c.ID] = c
	}
	var one lab.Culture
	if strings.TrimSpace(named) != "" {
		if one, err = r.CultureByName(ctx, named); err != nil {
			return atField("culture", err)
		}
	}
	from := make(map[string]int)
	var order []string
	for _, j := range s.jars {
		c := one
		if c.ID == "" {
			c = byID[j.Culture]
		}
		if c.ID == "" {
			return lab.Invalidf("culture", "choose the culture that the jars get", "the plan names no culture for jar %d", j.Number)
		}
		if from[c.Name] == 0 {
			order = append(order, c.Name)
		}
		from[c.Name]++
		s.gets[j.Jar.ID] = c
	}
	s.report.What = sessionLine(s, from, order)
	return nil
}

// sessionLine says "24 of 24, 2 mL from LC-3".
func sessionLine(s *session, from map[string]int, order []string) string {
	parts := make([]string, len(order))
	for i, name := range order {
		parts[i] = name
		if len(order) > 1 {
			parts[i] = fmt.Sprintf("%s (%d)", name, from[name])
		}
	}
	line := fmt.Sprintf("%d of %d", len(s.jars), s.report.Of)
	if s.amount != "" {
		line += ", " + s.amount
	}
	if len(parts) > 0 {
		line += " from " + strings.Join(parts, ", ")
	}
	return line
}

func (s *session) entries(d lab.Deed) []lab.Inoculation {
	out := make([]lab.Inoculation, len(s.jars))
	for i, j := range s.jars {
		c := s.gets[j.Jar.ID]
		out[i] = lab.Inoculation{Entry: entryOf(d, s.at), Jar: j.Jar.ID, Culture: c.ID, Means: s.means, Amount: s.amount}
		if out[i].Means == "" {
			out[i].Means = lab.MeansOf(c.Form)
		}
		if s.forced[j.Jar.ID] {
			out[i].Override = s.reason
		}
	}
	return out
}

// nothing says why no jar is left to inoculate.
func (s *session) nothing() error {
	if len(s.report.HeldBack) == 0 {
		return lab.Conflictf("choose another batch", "%s has no jar left to inoculate", s.report.Batch)
	}
	h := s.report.HeldBack[0]
	if h.Overridable {
		return &lab.Problem{
			Kind: lab.Refused, Field: "override",
			What: fmt.Sprintf("all %d jars of %s are held back: jar %d, %s", len(s.report.HeldBack), s.report.Batch, h.Number, h.Why),
			Mend: "cook them again, or write the reason why they get the culture all the same",
		}
	}
	return lab.Conflictf("look at the jars", "all %d jars of %s are held back: jar %d, %s", len(s.report.HeldBack), s.report.Batch, h.Number, h.Why)
}
