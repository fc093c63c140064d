package app

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"sync"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// growing is what grows, with what was seen on it.
type growing struct {
	of       []*grown               // by batch
	aired    map[lab.JarID]lab.When // when a chore that leaves a note was done last
	batches  map[lab.BatchID]lab.Batch
	profiles profiles
	recipes  map[lab.RecipeVersionID]lab.RecipeID
	limits   lab.StageLimits
	zone     *time.Location
	walk     string
	learnt   *forecaster
	jarsOnly bool // nothing is asked of the batches
}

// grown is the jars of one batch that grow. What is expected of them next is
// found once for each basis that it rests on besides.
type grown struct {
	rows []store.GrowingJar // shared, not to be changed

	mu    sync.Mutex
	basis string // of next
	next  []Expected
}

// readGrowing reads the jars that grow in the batches. r must not write.
func (f *Farm) readGrowing(ctx context.Context, r store.Reader, batches []BatchRow, zone *time.Location) (growing, error) {
	return f.readGrowingOf(ctx, r, nil, stillGrowing(batches), zone)
}

// readGrowingOf reads the jars that grow in the batches, only those named
// unless none is. r must not write.
func (f *Farm) readGrowingOf(ctx context.Context, r store.Reader, only []lab.JarID, batches []lab.Batch, zone *time.Location) (growing, error) {
	g := growing{batches: make(map[lab.BatchID]lab.Batch, len(batches)), zone: zone}
	var ids []lab.BatchID
	for _, b := range batches {
		if !b.Closing.Passed(f.now()) {
			g.batches[b.ID] = b
			ids = append(ids, b.ID)
		}
	}
	grows, err := f.memo.growing.get(ctx, r, ids, "", func(ctx context.Context, ids []lab.BatchID) (map[lab.BatchID]*grown, error) {
		return readGrown(ctx, r, ids)
	})
	if err != nil {
		return g, err
	}
	for _, id := range ids {
		if x := grows[id]; x != nil {
			g.of = append(g.of, x.only(only))
		}
	}
	if err := g.hideBlind(ctx, r, batches); err != nil {
		return g, err
	}
	if g.recipes, err = r.RecipeLines(ctx); err != nil {
		return g, err
	}
	if g.learnt, err = f.readForecaster(ctx, r, zone, batches...); err != nil {
		return g, err
	}
	if g.limits, err = readLimits(ctx, r); err != nil {
		return g, err
	}
	if g.profiles, err = f.readProfiles(ctx, r); err != nil {
		return g, err
	}
	if g.walk, err = r.Setting(ctx, settingWalk); err != nil {
		return g, err
	}
	if g.limits[lab.Air.Stage()] > 0 {
		g.aired, err = r.Noted(ctx, ids, lab.Air.Done())
	}
	return g, err
}

func readGrown(ctx context.Context, r store.Reader, ids []lab.BatchID) (map[lab.BatchID]*grown, error) {
	jars, err := r.Growing(ctx, ids)
	if err != nil {
		return nil, err
	}
	out := make(map[lab.BatchID]*grown)
	for id, rows := range groupBy(jars, func(j store.GrowingJar) lab.BatchID { return j.Batch }) {
		out[id] = &grown{rows: rows}
	}
	return out, nil
}

// only returns those of the jars that are named, all if none is.
func (x *grown) only(named []lab.JarID) *grown {
	if len(named) == 0 {
		return x
	}
	var out grown
	for _, j := range x.rows {
		if slices.Contains(named, j.Jar) {
			out.rows = append(out.rows, j)
		}
	}
	return &out
}

// hideBlind makes the jars of a batch alike in what a blind trial hides: days
// that differ by recipe or culture would tell the arms apart.
func (g *growing) hideBlind(ctx context.Context, r store.Reader, batches []lab.Batch) error {
	hidden, err := hiddenOf(ctx, r, batches)
	if err != nil {
		return err
	}
	for i, x := range g.of {
		if len(x.rows) == 0 {
			continue
		}
		if of := hidden[g.batches[x.rows[0].Batch].Trial]; len(of) > 0 {
			g.of[i] = x.hide(of)
		}
	}
	return nil
}

// hide returns the jars alike in what is hidden.
func (x *grown) hide(hidden []lab.Factor) *grown {
	out := &grown{rows: slices.Clone(x.rows)}
	for i := range out.rows {
		if slices.Contains(hidden, lab.ByRecipe) {
			out.rows[i].Recipe = ""
		}
		if slices.Contains(hidden, lab.ByCulture) {
			out.rows[i].Carries = x.rows[0].Carries
		}
	}
	return out
}

// stillGrowing are the batches with a jar that grows.
func stillGrowing(batches []BatchRow) []lab.Batch {
	var out []lab.Batch
	for _, b := range batches {
		if b.Tally.Growing > 0 {
			out = append(out, b.Batch)
		}
	}
	return out
}

// expected returns what is expected next of the jars, each by its own days, so
// that a slow jar holds up no other; and the chores that come again. Only what
// is kept is returned, in walking order: keep may go by days and stages, not by
// numbers.
func (g growing) expected(keep func(Expected) bool) ([]Expected, error) {
	var all []Expected
	for _, x := range g.of {
		all = append(all, g.next(x)...)
	}
	out, err := g.forecast(all)
	out = slices.DeleteFunc(out, func(e Expected) bool { return !keep(e) })
	return inOrderOfWalk(joinAlike(out), g.walk), err
}

// next returns what is expected next of the jars of one batch, by the days
// that books and the grower give. It is shared: what it points to may not be
// changed. What was noted on jars is part of what their batch remembers.
func (g growing) next(x *grown) []Expected {
	basis := strings.Join([]string{g.zone.String(), g.limits.String(), g.profiles.basis}, "\n")
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.basis == basis {
		return x.next
	}
	var all gathered
	for _, j := range x.rows {
		if e, ok := g.expect(j); ok {
			g.join(&all, j, e)
		}
		for _, c := range lab.Chores {
			if days := g.limits[c.Stage()]; days > 0 {
				if last, ok := g.choreDay(j, c); ok {
					g.join(&all, j, Expected{Since: last, Chore: c, Window: lab.StageWindow{From: days, To: days, Late: days + 1}})
				}
			}
		}
	}
	x.basis, x.next = basis, all.list
	return x.next
}

// join adds what is expected of a jar.
func (g growing) join(all *gathered, j store.GrowingJar, e Expected) {
	e.Batch, e.Shelf, e.Numbers = g.batches[j.Batch], j.Shelf, []int{j.Number}
	all.add(e)
}

// gathered joins jars of which the same is expected.
type gathered struct {
	list []Expected
	at   map[expectedKey]int // in list
}

// expectedKey is in what jars agree of which the same is expected.
type expectedKey struct {
	batch   lab.BatchID
	shelf   string
	since   int64
	window  lab.StageWindow
	move    bool
	chore   lab.Chore
	recipe  lab.RecipeID
	culture lab.CultureID
	waits   bool
	learnt  learntKey
}

// learntKey is in what forecasts agree that say the same.
type learntKey struct {
	likely, nearFrom, nearTo, batches int
	own                               bool
	books                             [2]int
	source                            string
}

func (e *Expected) key() expectedKey {
	k := expectedKey{e.Batch.ID, e.Shelf, e.Since.Unix(), e.Window, e.Move, e.Chore, e.recipe, e.culture, e.waits, learntKey{}}
	if x := e.Learnt; x != nil {
		own := x.rests.Batches > 0 && x.rests.Source != "" && x.rests.mostlyOwn() // otherwise it is not said
		k.learnt = learntKey{x.Likely, x.NearFrom, x.NearTo, x.rests.Batches, own, x.rests.Books, x.rests.Source}
	}
	return k
}

// add adds e. It does not change the numbers that e came with.
func (x *gathered) add(e Expected) {
	if x.at == nil {
		x.at = make(map[expectedKey]int)
	}
	key := e.key()
	i, ok := x.at[key]
	if !ok {
		x.at[key] = len(x.list)
		e.Numbers = slices.Clip(e.Numbers)
		x.list = append(x.list, e)
		return
	}
	x.list[i].passed = min(x.list[i].passed, e.passed)
	x.list[i].Numbers = append(x.list[i].Numbers, e.Numbers...)
}

// joinAlike joins jars of different recipes of which the same is expected.
func joinAlike(all []Expected) []Expected {
	var out gathered
	for _, e := range all {
		e.recipe, e.culture, e.passed = "", "", 0
		out.add(e)
	}
	for i, e := range out.list {
		if !slices.IsSorted(e.Numbers) {
			out.list[i].Numbers = slices.Sorted(slices.Values(e.Numbers))
		}
	}
	return out.list
}

// inOrderOfWalk sorts as the shelves are walked, then by batch and day.
func inOrderOfWalk(all []Expected, walk string) []Expected {
	var shelves []string
	rank := make(map[string]int)
	for _, e := range all {
		if _, have := rank[e.Shelf]; !have {
			rank[e.Shelf] = 0
			shelves = append(shelves, e.Shelf)
		}
	}
	inWalkingOrder(shelves, func(name string) string { return name }, walk)
	for i, name := range shelves {
		rank[name] = i
	}
	order := make([]int, len(all)) // they are large to move about
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, k int) int {
		a, b := &all[i], &all[k]
		return cmp.Or(cmp.Compare(rank[a.Shelf], rank[b.Shelf]), cmp.Compare(a.Batch.Number, b.Batch.Number), a.Since.Compare(b.Since), cmp.Compare(i, k))
	})
	out := make([]Expected, len(all))
	for i, k := range order {
		out[i] = all[k]
	}
	return out
}
