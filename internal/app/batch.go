package app

import (
	"context"
	"slices"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// JarRow is a jar with its standing.
type JarRow = store.JarRow

// pageOfJars bounds the jars that one page shows.
const pageOfJars = 400

// BatchRow is a batch with its counts.
type BatchRow struct {
	lab.Batch
	Tally store.Tally
	Trial string // its name, "" if none
}

// listed bounds a list of batches or cooks, so that its page is no more than 60
// kB. recent is how many of the newest batches are looked through for what waits.
const listed, recent = 120, 200

// Batches returns the newest batches with their counts, newest first, at most
// 120.
func (f *Farm) Batches(ctx context.Context) ([]BatchRow, error) {
	rows, _, err := f.BatchesBelow(ctx, 0)
	return rows, err
}

// BatchesBelow returns those whose numbers are under one, as Batches does; 0 is
// from the newest. There may be more under the number older, none if it is 0.
func (f *Farm) BatchesBelow(ctx context.Context, number int) (rows []BatchRow, older int, err error) {
	err = f.store.Read(ctx, func(r store.Reader) error {
		batches, err := newestBatches(ctx, r, number)
		if err != nil {
			return err
		}
		if len(batches) == listed {
			older = batches[listed-1].Number
		}
		rows, err = f.batchRows(ctx, r, batches)
		return err
	})
	return rows, older, err
}

// NewestBatches returns so many of the newest, and whether there are more.
func (f *Farm) NewestBatches(ctx context.Context, most int) (rows []BatchRow, more bool, err error) {
	err = f.store.Read(ctx, func(r store.Reader) error {
		batches, err := r.Batches(ctx, most+1)
		if err != nil {
			return err
		}
		more = len(batches) > most
		rows, err = f.batchRows(ctx, r, batches[:min(most, len(batches))])
		return err
	})
	return rows, more, err
}

// OpenBatches returns the batches that have growing jars, newest first.
func (f *Farm) OpenBatches(ctx context.Context) ([]BatchRow, error) {
	var rows []BatchRow
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		rows, err = f.openRows(ctx, r)
		return err
	})
	return slices.DeleteFunc(rows, func(b BatchRow) bool { return b.Tally.Growing == 0 }), err
}

func newestBatches(ctx context.Context, r store.Reader, below int) ([]lab.Batch, error) {
	if below > 0 {
		return r.BatchesBelow(ctx, below, listed)
	}
	return r.Batches(ctx, listed)
}

// openRows returns the newest batches and older ones that are still open.
func (f *Farm) openRows(ctx context.Context, r store.Reader) ([]BatchRow, error) {
	batches, err := r.Batches(ctx, recent)
	if err != nil {
		return nil, err
	}
	if len(batches) < recent {
		return f.batchRows(ctx, r, batches)
	}
	open, err := r.OpenBatches(ctx, f.today())
	if err != nil {
		return nil, err
	}
	oldest := batches[len(batches)-1].Number
	for _, b := range open {
		if b.Number < oldest {
			batches = append(batches, b)
		}
	}
	return f.batchRows(ctx, r, batches)
}

// batchRows adds to batches what their jars come to. r must not write.
func (f *Farm) batchRows(ctx context.Context, r store.Reader, batches []lab.Batch) ([]BatchRow, error) {
	if len(batches) == 0 {
		return nil, nil
	}
	ids := each(batches, func(b lab.Batch) lab.BatchID { return b.ID })
	tallies, err := f.memo.tallies.get(ctx, r, ids, "", func(ctx context.Context, ids []lab.BatchID) (map[lab.BatchID]store.Tally, error) {
		return r.Tallies(ctx, ids...)
	})
	if err != nil {
		return nil, err
	}
	trials, err := trialNames(ctx, r, batches)
	if err != nil {
		return nil, err
	}
	rows := make([]BatchRow, len(batches))
	for i, b := range batches {
		rows[i] = BatchRow{b, f.closeTally(tallies[b.ID], b.Closing), trials[b.Trial]}
	}
	return rows, nil
}

// closeTally applies the closing day: what still grows after it is barren.
func (f *Farm) closeTally(t store.Tally, closing lab.Day) store.Tally {
	if closing.Passed(f.now()) {
		t.Barren += t.Growing
		t.Growing = 0
	}
	return t
}

// trialsOf returns the trials that batches are of.
func trialsOf(ctx context.Context, r store.Reader, batches []lab.Batch) ([]lab.Trial, error) {
	return r.TrialsByID(ctx, eachOnce(batches, func(b lab.Batch) lab.TrialID { return b.Trial })...)
}

func trialNames(ctx context.Context, r store.Reader, batches []lab.Batch) (map[lab.TrialID]string, error) {
	trials, err := trialsOf(ctx, r, batches)
	if err != nil {
		return nil, err
	}
	names := make(map[lab.TrialID]string, len(trials))
	for _, t := range trials {
		names[t.ID] = t.Name
	}
	return names, nil
}

// Batch returns the batch called name, "B12" or its own name.
func (f *Farm) Batch(ctx context.Context, name string) (lab.Batch, error) {
	var b lab.Batch
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		b, err = r.BatchByName(ctx, name)
		return err
	})
	return b, err
}

// BatchView is what one batch's page shows.
type BatchView struct {
	BatchRow
	Jars  []store.JarRow // standing as of now
	More  bool           // there are more jars after these
	Arms  []string       // of its trial, as the shelf may see them
	Cooks []CookRow
	Deeds []lab.Deed // newest first, at most 20
	Names Names
}

// Names are the names of what jars refer to.
type Names struct {
	Recipes    map[lab.RecipeVersionID]string
	Containers map[lab.ContainerID]string
	Cultures   map[lab.CultureID]string
}

// BatchView returns the batch called name, "B12" or its own name, with at
// most 400 jars whose numbers are above after.
func (f *Farm) BatchView(ctx context.Context, name string, after int) (BatchView, error) {
	var v BatchView
	err := f.store.Read(ctx, func(r store.Reader) error {
		b, err := r.BatchByName(ctx, name)
		if err != nil {
			return err
		}
		v, err = f.viewBatch(ctx, r, b, after)
		return err
	})
	return v, err
}

func (f *Farm) viewBatch(ctx context.Context, r store.Reader, b lab.Batch, after int) (BatchView, error) {
	v := BatchView{BatchRow: BatchRow{Batch: b}}
	tallies, err := r.Tallies(ctx, b.ID)
	if err != nil {
		return v, err
	}
	v.Tally = f.closeTally(tallies[b.ID], b.Closing)
	if b.Trial != "" {
		t, err := r.Trial(ctx, b.Trial)
		if err != nil {
			return v, err
		}
		v.Trial = t.Name
	}
	if v.Jars, err = r.Jars(ctx, store.JarFilter{Batch: b.ID, After: after, Limit: pageOfJars + 1}); err != nil {
		return v, err
	}
	if v.More = len(v.Jars) > pageOfJars; v.More {
		v.Jars = v.Jars[:pageOfJars]
	}
	for i := range v.Jars {
		v.Jars[i].Standing = v.Jars[i].On(f.now(), b.Closing)
	}
	if v.Cooks, err = f.cooksOf(ctx, r, v.Jars); err != nil {
		return v, err
	}
	if v.Deeds, err = r.Deeds(ctx, b.ID, 20); err != nil {
		return v, err
	}
	if v.Names, err = namesOf(ctx, r, v.Jars); err != nil {
		return v, err
	}
	v.Arms, err = hideTrial(ctx, r, b.Trial, v.Jars, &v.Names)
	return v, err
}

// cooksOf returns the cooks that rows stood in, by number.
func (f *Farm) cooksOf(ctx context.Context, r store.Reader, rows []store.JarRow) ([]CookRow, error) {
	cooks, err := r.CooksByID(ctx, eachOnce(rows, func(j store.JarRow) lab.CookID { return j.Cook })...)
	if err != nil {
		return nil, err
	}
	return f.cookRows(ctx, r, cooks)
}

// namesOf returns the names that rows refer to.
func namesOf(ctx context.Context, r store.Reader, rows []store.JarRow) (Names, error) {
	n := Names{make(map[lab.RecipeVersionID]string), make(map[lab.ContainerID]string), make(map[lab.CultureID]string)}
	cultures, err := r.Cultures(ctx)
	if err != nil {
		return n, err
	}
	for _, c := range cultures {
		n.Cultures[c.ID] = c.Name
	}
	containers, err := r.Containers(ctx)
	if err != nil {
		return n, err
	}
	for _, c := range containers {
		n.Containers[c.ID] = c.Name
	}
	recipes, err := r.RecipesByID(ctx, eachOnce(rows, func(j store.JarRow) lab.RecipeVersionID { return j.Recipe })...)
	for _, recipe := range recipes {
		n.Recipes[recipe.ID] = recipe.String()
	}
	return n, err
}

// JarView is what one jar's page shows.
type JarView struct {
	Row       store.JarRow // standing as of now
	Name      string       // "B12·13"
	Batch     lab.Batch
	Trial     string
	Cook      *CookRow
	Recipe    string
	Container string
	Planned   string // culture that the plan meant for it
	Carries   string // culture that it got
	History   []HistoryLine
	Differs   []lab.Difference // what two people wrote that can hardly both hold
}

// HistoryLine is one thing that happened to a jar.
type HistoryLine struct {
	At     lab.When   `json:"at"`
	What   string     `json:"what"`
	By     string     `json:"by"`
	Deed   lab.DeedID `json:"deed"`
	Undone bool       `json:"undone"`
}

// JarView returns the jar that a code or "B12·13" names.
func (f *Farm) JarView(ctx context.Context, name string) (JarView, error) {
	var v JarView
	err := f.store.Read(ctx, func(r store.Reader) error {
		rows, err := findJars(ctx, r, []string{name})
		if err != nil {
			return err
		}
		v, err = f.viewJar(ctx, r, rows[0])
		return err
	})
	return v, err
}

func (f *Farm) viewJar(ctx context.Context, r store.Reader, j store.JarRow) (JarView, error) {
	b, err := r.Batch(ctx, j.Batch)
	if err != nil {
		return JarView{}, err
	}
	j.Standing = j.On(f.now(), b.Closing)
	v := JarView{Row: j, Batch: b, Name: b.String() + "·" + lab.ShowNumbers([]int{j.Number})}
	if b.Trial != "" {
		t, err := r.Trial(ctx, b.Trial)
		if err != nil {
			return v, err
		}
		v.Trial = t.Name
	}
	cooks, err := f.cooksOf(ctx, r, []store.JarRow{j})
	if err != nil {
		return v, err
	}
	if len(cooks) > 0 {
		v.Cook = &cooks[0]
	}
	names, err := namesOf(ctx, r, []store.JarRow{j})
	if err != nil {
		return v, err
	}
	hidden := []store.JarRow{j}
	if _, err := hideTrial(ctx, r, b.Trial, hidden, &names); err != nil {
		return v, err
	}
	j = hidden[0]
	v.Row = j
	v.Recipe, v.Container = names.Recipes[j.Recipe], names.Containers[j.Container]
	v.Planned, v.Carries = names.Cultures[j.Culture], names.Cultures[j.Carries]
	if v.Differs, err = differencesOf(ctx, r, j); err != nil {
		return v, err
	}
	v.History, err = history(ctx, r, j.Jar, names)
	return v, err
}

// history returns all that was entered on a jar, newest first, with what was
// taken back marked as such.
func history(ctx context.Context, r store.Reader, j lab.Jar, names Names) ([]HistoryLine, error) {
	e, err := entriesOf(ctx, r, []lab.JarID{j.ID})
	if err != nil {
		return nil, err
	}
	var h histories
	for _, in := range e.inoculations {
		what := strings.Join(strings.Fields("inoculated with "+bothWays(in.Amount)+" "+names.Cultures[in.Culture]), " ")
		if in.Override != "" {
			what += ", though its cook did not hold: " + in.Override
		}
		h.add(in.Entry, what)
	}
	for _, s := range e.seen {
		what := s.About()
		if s.Note != "" {
			what += ": " + s.Note
		}
		h.add(s.Entry, what)
	}
	for _, p := range e.picks {
		what := "picked " + p.Grams.String()
		if both := bothWays(p.Typed); strings.Contains(both, ", ") {
			what += " (" + strings.TrimSpace(p.Typed) + ")"
		}
		h.add(p.Entry, what+", flush "+lab.ShowNumbers([]int{p.Flush}))
	}
	photos, err := r.PhotoEntries(ctx, j.ID)
	if err != nil {
		return nil, err
	}
	for _, p := range photos {
		h.add(p.Entry, photoWords(p))
	}
	return h.lines(), nil
}

// histories gathers entries of several kinds.
type histories struct {
	entries   []lab.Entry
	whats     []string
	withdrawn map[lab.EntryID]bool
}

func (h *histories) add(e lab.Entry, what string) {
	if e.Corrects != "" {
		if h.withdrawn == nil {
			h.withdrawn = make(map[lab.EntryID]bool)
		}
		h.withdrawn[e.Corrects] = true
	}
	if !e.Withdrawn {
		h.entries, h.whats = append(h.entries, e), append(h.whats, what)
	}
}

func (h *histories) lines() []HistoryLine {
	order := make([]int, len(h.entries))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if c := h.entries[b].At.Time.Compare(h.entries[a].At.Time); c != 0 {
			return c
		}
		if c := h.entries[b].Entered.Compare(h.entries[a].Entered); c != 0 {
			return c
		}
		return strings.Compare(string(h.entries[b].ID), string(h.entries[a].ID)) // identifiers grow with time
	})
	lines := make([]HistoryLine, len(order))
	for i, k := range order {
		e := h.entries[k]
		lines[i] = HistoryLine{At: e.At, What: h.whats[k], By: e.By, Deed: e.Deed, Undone: h.withdrawn[e.ID]}
	}
	return lines
}
