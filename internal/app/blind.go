package app

import (
	"context"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"slices"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// mask is how the arms of a trial are called: by name, or by letters while it
// is blind and its key is closed.
type mask struct {
	trial   lab.Trial         // as planned
	letters map[string]string // by name key; nil unless the key is closed
	order   []int             // arms of the trial in the order of their letters
	opened  *lab.Opening      // nil if it is not blind, or closed
}

// closed reports whether the arms go by letters.
func (m mask) closed() bool { return m.letters != nil }

// maskOf returns how the arms of t are called.
func maskOf(ctx context.Context, r store.Reader, t lab.Trial) (mask, error) {
	masks, err := masksOf(ctx, r, []lab.Trial{t})
	return masks[t.ID], err
}

// masksOf returns how the arms of each of the trials are called.
func masksOf(ctx context.Context, r store.Reader, trials []lab.Trial) (map[lab.TrialID]mask, error) {
	masks := make(map[lab.TrialID]mask, len(trials))
	var blind []lab.TrialID
	for _, t := range trials {
		masks[t.ID] = mask{trial: t}
		if t.Details.Blind {
			blind = append(blind, t.ID)
		}
	}
	if len(blind) == 0 {
		return masks, nil
	}
	openings, err := r.Openings(ctx)
	if err != nil {
		return nil, err
	}
	allotments, err := r.Allotments(ctx, blind...)
	if err != nil {
		return nil, err
	}
	draws := groupBy(allotments, func(a lab.Allotment) lab.TrialID { return a.Trial })
	for _, id := range blind {
		m := masks[id]
		if i := slices.IndexFunc(openings, func(o lab.Opening) bool { return o.Trial == id }); i >= 0 {
			m.opened = &openings[i]
		} else {
			m.close(draws[id])
		}
		masks[id] = m
	}
	return masks, nil
}

// close deals letters out to the arms, by the seed of their first draw.
func (m *mask) close(draws []lab.Allotment) {
	seed := uint64(0)
	if len(draws) > 0 {
		seed = draws[0].Seed
	}
	m.order = letterOrder(m.trial, seed)
	m.letters = make(map[string]string)
	for i, arm := range m.order {
		m.letters[lab.NameKey(m.trial.Arms[arm].Name)] = letterOf(i)
	}
}

// letterOrder deals the letters out: the arm that goes by A first. The same
// trial and seed give the same letters.
func letterOrder(t lab.Trial, seed uint64) []int {
	h := fnv.New64a()
	h.Write([]byte(t.ID)) // a hash never fails
	return rand.New(rand.NewPCG(seed, h.Sum64())).Perm(len(t.Arms))
}

// newChance returns the draws that follow from a seed beside those of the
// allotment itself.
func newChance(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x70696e736574)) }

func letterOf(i int) string { return string(rune('A' + i)) }

// inOrder is the trial with its arms in the order of their letters, named.
func (m mask) inOrder() lab.Trial {
	t := m.trial
	if !m.closed() {
		return t
	}
	t.Arms = make([]lab.Arm, len(m.order))
	for i, arm := range m.order {
		t.Arms[i] = m.trial.Arms[arm]
	}
	return t
}

// shown is the trial as the shelf may see it: while the key is closed its
// arms are letters, nothing says what they are, and none is the usual.
func (m mask) shown() lab.Trial {
	t := m.trial
	if !m.closed() {
		return t
	}
	t.Control, t.Arms = "", make([]lab.Arm, len(m.order))
	for i := range t.Arms {
		t.Arms[i] = lab.Arm{Name: letterOf(i)}
	}
	return t
}

// hide takes from jars and names what would tell the arms of a blind trial
// apart at the shelf.
func (m mask) hide(jars []store.JarRow, names *Names) {
	if !m.closed() {
		return
	}
	differ := m.trial.Differing()
	byRecipe, byCulture, byContainer := slices.Contains(differ, lab.ByRecipe), slices.Contains(differ, lab.ByCulture), slices.Contains(differ, lab.ByContainer)
	for i := range jars {
		j := &jars[i]
		j.Arm = m.letters[lab.NameKey(j.Arm)]
		if byRecipe {
			j.Recipe, j.MixMade, j.DryGrams = "", "", 0
		}
		if byCulture {
			j.Culture, j.Carries = "", ""
		}
		if byContainer {
			j.Container = ""
		}
	}
	if names != nil && byCulture {
		for id := range names.Cultures {
			names.Cultures[id] = "its culture"
		}
	}
}

// hideTrial hides jars of the trial with that id, if it is blind. It returns
// the names of its arms as the shelf may see them, none for a plain batch.
func hideTrial(ctx context.Context, r store.Reader, id lab.TrialID, jars []store.JarRow, names *Names) ([]string, error) {
	arms := []string{}
	if id == "" {
		return arms, nil
	}
	t, err := r.Trial(ctx, id)
	if err != nil {
		return nil, err
	}
	m, err := maskOf(ctx, r, t)
	if err != nil {
		return nil, err
	}
	m.hide(jars, names)
	for _, a := range m.shown().Arms {
		arms = append(arms, a.Name)
	}
	return arms, nil
}

// hiddenFactors returns what the arms of the trial with that id differ in, if it
// is blind and its key is closed; else none.
func hiddenFactors(ctx context.Context, r store.Reader, id lab.TrialID) ([]lab.Factor, error) {
	if id == "" {
		return nil, nil
	}
	t, err := r.Trial(ctx, id)
	if err != nil {
		return nil, err
	}
	m, err := maskOf(ctx, r, t)
	if err != nil || !m.closed() {
		return nil, err
	}
	return t.Differing(), nil
}

// hiddenOf is hiddenFactors for the trials of some batches.
func hiddenOf(ctx context.Context, r store.Reader, batches []lab.Batch) (map[lab.TrialID][]lab.Factor, error) {
	trials, err := trialsOf(ctx, r, batches)
	if err != nil {
		return nil, err
	}
	masks, err := masksOf(ctx, r, trials)
	hidden := make(map[lab.TrialID][]lab.Factor)
	for id, m := range masks {
		if m.closed() {
			hidden[id] = m.trial.Differing()
		}
	}
	return hidden, err
}

// hideEntries is hideTrial for jars with what was entered on them.
func hideEntries(ctx context.Context, r store.Reader, id lab.TrialID, jars []store.JarRow, e *jarEntries) error {
	if _, err := hideTrial(ctx, r, id, jars, nil); err != nil {
		return err
	}
	hidden, err := hiddenFactors(ctx, r, id)
	if err != nil {
		return err
	}
	if slices.Contains(hidden, lab.ByCulture) {
		for i := range e.inoculations {
			e.inoculations[i].Culture = ""
		}
	}
	return nil
}

// OpenKey opens the key of a blind trial: from then on its arms are named. It
// can not be closed again.
func (f *Farm) OpenKey(ctx context.Context, a Act, name string) (Done, error) {
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		t, err := w.TrialByName(ctx, name)
		if err != nil {
			return err
		}
		if !t.Details.Blind {
			return lab.Conflictf("read its page", "%s is not blind, so there is no key to open", t.Name)
		}
		deed, err := f.deed(a, "", "key of %s opened", t.Name)
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			done.Repeat = !fresh
			return err
		}
		return w.AddOpening(ctx, lab.Opening{ID: newID[lab.EntryID](), Trial: t.ID, Deed: deed.ID, Opened: f.clock(), By: deed.By})
	})
	return done, err
}

// keySheet says what the bench sheet of a blind trial is.
var keySheet = figure.Caution{
	Code: "key_sheet", Title: "This sheet is the key of a blind trial", Weight: figure.Care,
	Text: "Whoever fills must know what goes into which jar. Keep this sheet away from the shelf, and let another hand look and weigh: the pages and codes of the shelf show letters only.",
}

// openedEarly doubts a blind trial whose key was opened while jars grew.
func (ev evidence) openedEarly() (figure.Caution, bool) {
	if ev.mask.opened == nil {
		return figure.Caution{}, false
	}
	after := 0
	for _, j := range ev.jars {
		if !j.Blank && !j.Inoculated.IsZero() && (j.Fate == lab.Growing || j.FateAt.Exactness != lab.Unknown && j.FateAt.Time.After(ev.mask.opened.Opened)) {
			after++
		}
	}
	return figure.Caution{
		Code: "key_opened_early", Title: "The key was opened early", Weight: figure.Care,
		Text: fmt.Sprintf("It was opened on %s, before %s done. What was seen since may have been seen through the name.", ev.mask.opened.Opened.Format(time.DateOnly), figure.Count(after, "jar was", "jars were")),
	}, after > 0
}
