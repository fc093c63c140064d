package app

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// Allotted is what a new draw came to.
type Allotted struct {
	Done
	Jars  int
	Seed  uint64
	Bound string
}

// lightDesign is what an allotment to the light keeps: the draw, the shelves
// by name, and where each jar went.
type lightDesign struct {
	trialstat.Design
	Names []string       `json:"names"`
	Jars  map[string]int `json:"jars"` // shelf by code, an index into Names
}

// AllotLight deals the growing jars of a trial out to places in the light, so
// that every shelf holds its fair share of each arm. The allotment to the
// cooker stays as it is; both are kept. seed "" draws one.
func (f *Farm) AllotLight(ctx context.Context, a Act, trial string, shelves []PlanShelf, seed string) (Allotted, error) {
	n, err := f.planSeed(seed)
	if err != nil {
		return Allotted{}, err
	}
	if len(shelves) < 2 {
		return Allotted{}, lab.Invalidf("shelves", "name at least two with the jars that each takes, such as window 12, cellar 8", "with one place in the light there is nothing to deal out")
	}
	var out Allotted
	err = f.store.Write(ctx, func(w store.Writer) error {
		jars, t, err := f.growingOf(ctx, w, trial)
		if err != nil {
			return err
		}
		design, placed, layout, err := toLight(t, jars, shelves, n)
		if err != nil {
			return err
		}
		out = Allotted{Jars: len(placed), Seed: n, Bound: layout.Bound}
		return f.keepDraw(ctx, w, a, &out, t, lab.AtLight, design, layout, placed, "moved to light by lot")
	})
	return out, err
}

// growingOf returns the jars of a trial that still grow, arms named.
func (f *Farm) growingOf(ctx context.Context, r store.Reader, trial string) ([]store.JarRow, lab.Trial, error) {
	t, err := r.TrialByName(ctx, trial)
	if err != nil {
		return nil, t, err
	}
	all, err := r.Jars(ctx, store.JarFilter{Trials: []lab.TrialID{t.ID}})
	if err != nil {
		return nil, t, err
	}
	batches, err := batchesOf(ctx, r, all)
	if err != nil {
		return nil, t, err
	}
	var jars []store.JarRow
	for _, j := range all {
		if j.Standing = j.On(f.now(), closingOf(batches[j.Batch], t)); !j.Blank && j.Fate == lab.Growing {
			jars = append(jars, j)
		}
	}
	if len(jars) == 0 {
		return nil, t, lab.Conflictf("inoculate them first, or read the verdict", "no jar of %s grows", t.Name)
	}
	return jars, t, nil
}

// toLight draws the places of jars in the light. A place is drawn like a layer
// of one cooker: each holds its fair share of every arm.
func toLight(t lab.Trial, jars []store.JarRow, shelves []PlanShelf, seed uint64) (lightDesign, []lab.Jar, trialstat.Layout, error) {
	d := lightDesign{Jars: make(map[string]int)}
	var arms []lab.Arm // that still have a jar
	byArm := groupBy(jars, func(j store.JarRow) string { return lab.NameKey(j.Arm) })
	for _, a := range t.Arms {
		if n := len(byArm[lab.NameKey(a.Name)]); n > 0 {
			arms, d.Arms = append(arms, a), append(d.Arms, n)
		}
	}
	if len(arms) < 2 {
		return d, nil, trialstat.Layout{}, lab.Conflictf("place the jars as you like", "only one arm of %s still grows", t.Name)
	}
	for i, s := range shelves {
		d.Names = append(d.Names, s.Name)
		d.Cells = append(d.Cells, trialstat.Place{Layer: i + 1, Places: s.Places})
	}
	layout, err := trialstat.Allot(d.Design, seed)
	if err != nil {
		return d, nil, layout, err
	}
	next := dealOrder(d.Arms, seed)
	var placed []lab.Jar
	for _, s := range layout.Slots {
		j := byArm[lab.NameKey(arms[s.Arm].Name)][next(s.Arm)].Jar
		j.Shelf = d.Names[s.Layer-1]
		d.Jars[string(j.Code)] = s.Layer - 1
		placed = append(placed, j)
	}
	return d, placed, layout, nil
}

// Redraw deals the jars of a trial out to other places in the cooker, for a
// plan that changed before its cooks ran. The allotment that was kept stays
// as it is and gets a successor.
func (f *Farm) Redraw(ctx context.Context, a Act, trial, seed string) (Allotted, error) {
	n, err := f.planSeed(seed)
	if err != nil {
		return Allotted{}, err
	}
	var out Allotted
	err = f.store.Write(ctx, func(w store.Writer) error {
		t, err := w.TrialByName(ctx, trial)
		if err != nil {
			return err
		}
		jars, err := w.Jars(ctx, store.JarFilter{Trials: []lab.TrialID{t.ID}})
		if err != nil {
			return err
		}
		design, err := f.redrawable(ctx, w, t, jars)
		if err != nil {
			return err
		}
		layout, err := trialstat.Allot(design, n)
		if err != nil {
			return err
		}
		placed := replace(t, jars, design, layout, n)
		out = Allotted{Jars: len(placed), Seed: n, Bound: layout.Bound}
		made := madeDesign{Design: design}
		for _, j := range placed {
			made.Order = append(made.Order, j.Number)
		}
		return f.keepDraw(ctx, w, a, &out, t, lab.AtMaking, made, layout, placed, "places drawn anew")
	})
	return out, err
}

// redrawable returns the design that jars can be drawn by again, or says why
// they can not.
func (f *Farm) redrawable(ctx context.Context, r store.Reader, t lab.Trial, jars []store.JarRow) (trialstat.Design, error) {
	var design trialstat.Design
	allotments, err := r.Allotments(ctx, t.ID)
	if err != nil {
		return design, err
	}
	var last *lab.Allotment
	for i := range allotments {
		if allotments[i].Stage != lab.AtLight {
			last = &allotments[i]
		}
	}
	if last == nil {
		return design, lab.Conflictf("plan the next trial by lot", "%s was not allotted by lot, so there is nothing to draw anew", t.Name)
	}
	if err := json.Unmarshal(last.Design, &design); err != nil {
		return design, fmt.Errorf("read the design of %s: %w", t.Name, err)
	}
	cooks, err := f.cooksOf(ctx, r, jars)
	if err != nil {
		return design, err
	}
	for _, c := range cooks {
		marks, err := r.CookMarks(ctx, c.ID)
		if err != nil {
			return design, err
		}
		if len(lab.Current(marks)) > 0 {
			return design, lab.Conflictf("plan another trial", "%s has run: where its jars stood can not be drawn anew", c.Cook)
		}
	}
	for _, j := range jars {
		if !j.Inoculated.IsZero() {
			return design, lab.Conflictf("plan another trial", "jars of %s are inoculated: their places can not be drawn anew", t.Name)
		}
	}
	return design, nil
}

// replace gives the jars of each arm, and the blanks, the places of a layout.
func replace(t lab.Trial, jars []store.JarRow, d trialstat.Design, layout trialstat.Layout, seed uint64) []lab.Jar {
	byArm := groupBy(jars, func(j store.JarRow) string { return lab.NameKey(j.Arm) })
	cooks := cooksInOrder(jars)
	blanks := byArm[""]
	var placed []lab.Jar
	next := dealOrder(d.Arms, seed)
	for _, s := range layout.Slots {
		var j lab.Jar
		if s.Arm == trialstat.None {
			j, blanks = blanks[0].Jar, blanks[1:]
		} else {
			j = byArm[lab.NameKey(t.Arms[s.Arm].Name)][next(s.Arm)].Jar
		}
		j.Cook, j.Layer = cooks[s.Cook], s.Layer
		j.MixMade = makingIn(j.MixMade, s.Cook+1)
		placed = append(placed, j)
	}
	return placed
}

// makingIn is the label of a making that fills jars of another cook: one that was
// made for one cook is made for that one now.
func makingIn(label string, cook int) string {
	at := strings.LastIndex(label, cookOfMaking)
	if at < 0 {
		return label
	}
	_, of, ok := strings.Cut(label[at:], " of ")
	if !ok {
		return label
	}
	return fmt.Sprintf("%s%s%d of %s", label[:at], cookOfMaking, cook, of)
}

func cooksInOrder(jars []store.JarRow) []lab.CookID {
	var out []lab.CookID
	have := make(map[lab.CookID]bool)
	for _, j := range jars { // by number, and numbers are in load order
		if !have[j.Cook] {
			have[j.Cook] = true
			out = append(out, j.Cook)
		}
	}
	return out
}

// dealOrder returns, for each arm, which of its jars comes next, in an order
// drawn by seed.
func dealOrder(arms []int, seed uint64) func(arm int) int {
	chance := newChance(seed)
	order := make([][]int, len(arms))
	for i, n := range arms {
		order[i] = chance.Perm(n)
	}
	return func(arm int) int {
		n := order[arm][0]
		order[arm] = order[arm][1:]
		return n
	}
}

// keepDraw keeps an allotment that succeeds the last of its stage, and the
// places that it gives.
func (f *Farm) keepDraw(ctx context.Context, w store.Writer, a Act, out *Allotted, t lab.Trial, stage lab.AllotStage, design any, layout trialstat.Layout, placed []lab.Jar, what string) error {
	kept, err := json.Marshal(design)
	if err != nil {
		return fmt.Errorf("keep the design of %s: %w", t.Name, err)
	}
	deed, err := f.deed(a, "", "%s: %s, %s", t.Name, what, figure.Counted(len(placed), "jar"))
	if err != nil {
		return err
	}
	out.Deed, out.What = deed.ID, deed.What
	if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
		out.Repeat = !fresh
		return err
	}
	next := lab.Allotment{
		ID: newID[lab.AllotmentID](), Trial: t.ID, Batch: placed[0].Batch, Procedure: string(layout.Procedure), Version: layout.Version,
		Seed: layout.Seed, Bound: layout.Bound, Design: kept, Made: f.clock(), Stage: stage,
	}
	before, err := w.Allotments(ctx, t.ID)
	if err != nil {
		return err
	}
	for _, b := range before {
		if b.Stage == stage {
			next.Succeeds = b.ID
		}
	}
	if err := w.AddAllotment(ctx, next); err != nil {
		return err
	}
	return w.PlaceJars(ctx, placed)
}
