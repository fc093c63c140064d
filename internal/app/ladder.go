package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"pinset/internal/calc/substrate"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// LadderInput asks for a small trial that steps one amount of a recipe.
type LadderInput struct {
	Recipe string // by name
	Step   string // the ingredient whose amount is stepped, or a mix whose fill is
	From   string // such as "100 g"; a bare number is in the unit of the recipe
	To     string
	By     string
	Lot    string // delivery that all of it is made from, such as I7; "" takes those in use

	Jars      int // of each step
	Blanks    int // in each cook
	Name      string
	Culture   string
	Container string
	Closing   string
	Seed      string
	Cooks     []PlanCook // one with one layer for all if none is said
	Shelves   []PlanShelf
}

// Ladder is a ladder worked out, before anything is kept.
type Ladder struct {
	Rungs []Rung
	Plan  PlanInput
	Lots  []*LotRow // that all rungs are made from
}

// Rung is one step of a ladder.
type Rung struct {
	Amount      string // as it would be typed
	Recipe      string // the name that its recipe gets
	WetG        float64
	MoisturePct *float64
	CN          *float64

	recipe NewRecipe
}

// Bounds of a ladder.
const maxRungs = 12

// DraftLadder works a ladder out and stores nothing.
func (f *Farm) DraftLadder(ctx context.Context, in LadderInput) (Ladder, error) {
	var l Ladder
	var base lab.Recipe
	var s *stock
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		if base, err = r.RecipeByName(ctx, in.Recipe); err != nil {
			return atField("recipe", err)
		}
		s, err = f.readStock(ctx, r)
		return err
	})
	if err != nil {
		return l, err
	}
	if base.NameOnly() {
		return l, lab.Conflictf("write the recipe down first", "nothing is known of %s but its name", base.Name)
	}
	if base.Details.Lots, l.Lots, err = s.tieLots(base, in.Lot); err != nil {
		return l, err
	}
	amounts, err := in.amounts(base)
	if err != nil {
		return l, err
	}
	for _, amount := range amounts {
		rung, err := s.rung(base, in.Step, amount)
		if err != nil {
			return l, err
		}
		l.Rungs = append(l.Rungs, rung)
	}
	l.Plan = in.plan(base, l.Rungs)
	return l, nil
}

// KeepLadder keeps the recipes of a ladder and plans its trial: all of it or
// nothing.
func (f *Farm) KeepLadder(ctx context.Context, a Act, in LadderInput) (Kept, error) {
	l, err := f.DraftLadder(ctx, in)
	if err != nil {
		return Kept{}, err
	}
	p, fresh, err := f.draftRungs(ctx, l)
	if err != nil {
		return Kept{}, err
	}
	var k Kept
	err = f.store.Write(ctx, func(w store.Writer) error {
		var err error
		if k, err = keptByAct(ctx, w, a); err != nil || k.Repeat {
			return err
		}
		for _, r := range fresh {
			if err := addRung(ctx, w, r); err != nil {
				return err
			}
		}
		k, err = f.keepPlan(ctx, w, a, p)
		return err
	})
	return k, err
}

// draftRungs plans the trial of a ladder with its recipes as they will be. It
// returns those that are not kept yet.
func (f *Farm) draftRungs(ctx context.Context, l Ladder) (Plan, []lab.Recipe, error) {
	var p Plan
	var fresh []lab.Recipe
	err := f.store.Read(ctx, func(r store.Reader) error {
		with := rungReader{Reader: r, rungs: make(map[string]lab.Recipe)}
		for _, rung := range l.Rungs {
			v, isNew, err := f.rungVersion(ctx, r, rung.recipe)
			if err != nil {
				return err
			}
			with.rungs[lab.NameKey(v.Name)] = v
			if isNew {
				fresh = append(fresh, v)
			}
		}
		var err error
		p, err = f.readPlan(ctx, with, l.Plan)
		return err
	})
	if err != nil {
		return p, nil, err
	}
	return p, fresh, p.workOut()
}

// rungVersion is the version of a rung's recipe that its jars get: the newest
// kept if it says the same, else the next.
func (f *Farm) rungVersion(ctx context.Context, r store.Reader, n NewRecipe) (v lab.Recipe, isNew bool, err error) {
	if v, err = f.newVersion(n); err != nil {
		return v, false, err
	}
	old, err := r.RecipeByName(ctx, v.Name)
	switch {
	case err == nil && slices.EqualFunc(old.Mixes, v.Mixes, equalMixes) && slices.Equal(old.Fills, v.Fills) && slices.Equal(old.Details.Lots, v.Details.Lots):
		return old, false, nil
	case err != nil && !lab.IsKind(err, lab.NotFound):
		return v, false, err
	}
	return v, true, nextVersion(ctx, r, &v)
}

// rungReader reads recipes that are not kept yet, beside all that is.
type rungReader struct {
	store.Reader
	rungs map[string]lab.Recipe // by name
}

func (r rungReader) RecipeByName(ctx context.Context, name string) (lab.Recipe, error) {
	if v, ok := r.rungs[lab.NameKey(name)]; ok {
		return v, nil
	}
	return r.Reader.RecipeByName(ctx, name)
}

// addRung keeps a rung's recipe, unless its name took another version since
// the ladder was worked out.
func addRung(ctx context.Context, w store.Writer, v lab.Recipe) error {
	now := v
	if err := nextVersion(ctx, w, &now); err != nil {
		return err
	}
	if now.Version != v.Version {
		return lab.Conflictf("send it again", "%s was written anew meanwhile", v.Name)
	}
	return w.AddRecipe(ctx, v)
}

func equalMixes(a, b lab.Mix) bool {
	return a.Name == b.Name && a.MakeUpTo == b.MakeUpTo && a.PercentOf == b.PercentOf && slices.Equal(a.Lines, b.Lines)
}

// tieLots names the lots that a ladder is made from: the one named, and those
// in use of the other ingredients.
func (s *stock) tieLots(r lab.Recipe, named string) ([]lab.LotOf, []*LotRow, error) {
	var ties []lab.LotOf
	var rows []*LotRow
	var want *LotRow
	if strings.TrimSpace(named) != "" {
		var err error
		if want, err = s.lotNamed(named); err != nil {
			return nil, nil, atField("lot", err)
		}
	}
	met := want == nil
	for _, m := range r.Mixes {
		for _, l := range m.Lines {
			lot := s.lotFor(r, l.Ingredient)
			if want != nil && lab.NameKey(want.Name) == lab.NameKey(l.Ingredient) {
				lot, met = want, true
			}
			if lot == nil || slices.Contains(rows, lot) {
				continue
			}
			ties, rows = append(ties, lab.LotOf{Ingredient: l.Ingredient, Lot: lot.Lot}), append(rows, lot)
		}
	}
	if !met {
		return nil, nil, lab.Invalidf("lot", "name a lot of an ingredient of the recipe", "%s is a lot of %s, which %s does not hold", want, want.Name, r.Name)
	}
	return ties, rows, nil
}

// amounts are the steps as they would be typed.
func (in LadderInput) amounts(r lab.Recipe) ([]string, error) {
	now, ok := amountIn(r, in.Step)
	if !ok {
		return nil, lab.Invalidf("step", "write an ingredient or a mix as it stands in the recipe", "%s holds no %q", r.Name, in.Step)
	}
	unit := ""
	if q, err := units.Parse(now); err == nil {
		unit = q.Unit
	}
	read := func(field, typed string) (units.Quantity, error) {
		var q units.Quantity
		var err error
		if unit == "" {
			q, err = units.Parse(typed)
		} else {
			q, err = units.ParseIn(typed, unit)
		}
		if err == nil && !(q.Value > 0) {
			err = lab.Invalidf(field, "write an amount above 0, such as 5 g", "%q is no step", typed)
		}
		return q, atField(field, err)
	}
	from, err := read("from", in.From)
	if err != nil {
		return nil, err
	}
	to, err := read("to", in.To)
	if err != nil {
		return nil, err
	}
	by, err := read("by", in.By)
	if err != nil {
		return nil, err
	}
	if from.Dim != to.Dim || from.Dim != by.Dim {
		return nil, lab.Invalidf("by", "write all three in one kind of unit, such as g", "a ladder from %s to %s can not go by %s", in.From, in.To, in.By)
	}
	n := math.Round((to.Value - from.Value) / by.Value)
	if !(n >= 1 && n < maxRungs) || math.Abs(from.Value+n*by.Value-to.Value) > 0.01*by.Value {
		return nil, lab.Invalidf("by", fmt.Sprintf("choose 2 to %d steps that end at the last amount", maxRungs), "from %s to %s by %s makes no even ladder", in.From, in.To, in.By)
	}
	var out []string
	for i := range int(n) + 1 {
		q := from
		q.Value = from.Value + float64(i)*by.Value
		q.Value = math.Round(q.Value*1e9) / 1e9
		out = append(out, q.String())
	}
	return out, nil
}

// amountIn is the amount of an ingredient, or the fill of a mix.
func amountIn(r lab.Recipe, step string) (string, bool) {
	key := lab.NameKey(step)
	for _, m := range r.Mixes {
		for _, l := range m.Lines {
			if lab.NameKey(l.Ingredient) == key {
				return l.Amount, true
			}
		}
	}
	for _, f := range r.Fills {
		if lab.NameKey(f.Mix) == key {
			return f.Amount, true
		}
	}
	return "", false
}

// rung is the recipe with one amount changed.
func (s *stock) rung(base lab.Recipe, step, amount string) (Rung, error) {
	r := base
	r.Mixes, r.Fills = make([]lab.Mix, len(base.Mixes)), slices.Clone(base.Fills)
	key := lab.NameKey(step)
	changed := false
	for i, m := range base.Mixes {
		m.Lines = slices.Clone(m.Lines)
		for j := range m.Lines {
			if !changed && lab.NameKey(m.Lines[j].Ingredient) == key {
				m.Lines[j].Amount, changed = amount, true
				r.Mixes[i] = m
				s.refill(&r, base, m)
			}
		}
		r.Mixes[i] = m
	}
	for i := range r.Fills {
		if !changed && lab.NameKey(r.Fills[i].Mix) == key {
			r.Fills[i].Amount, changed = amount, true
		}
	}
	answer, err := weigh(r, 1, s)
	if err != nil {
		return Rung{}, atField("step", err)
	}
	jar := answer.Result.PerJar
	name := fmt.Sprintf("%s, %s %s", base.Name, strings.Join(strings.Fields(step), " "), amount)
	return Rung{
		Amount: amount, Recipe: name, WetG: jar.WetG, MoisturePct: jar.MoisturePct, CN: jar.CN,
		recipe: NewRecipe{Name: name, Mixes: r.Mixes, Fills: r.Fills, Note: "a rung of a ladder of " + base.String(), Details: r.Details},
	}, nil
}

// refill keeps all of a mix going into the jar, where that is what the recipe
// says: a fill of as many grams as the mix weighs follows the step.
func (s *stock) refill(r *lab.Recipe, base lab.Recipe, m lab.Mix) {
	if m.MakeUpTo != "" {
		return
	}
	i := slices.IndexFunc(r.Fills, func(f lab.Fill) bool { return lab.NameKey(f.Mix) == lab.NameKey(m.Name) })
	if i < 0 {
		return
	}
	fill, err := units.ParseMass(r.Fills[i].Amount)
	if err != nil {
		return // a volume or a share stays what it is
	}
	before, ok1 := s.massOf(base, m.Name)
	after, ok2 := s.massOf(*r, m.Name)
	if ok1 && ok2 && math.Abs(float64(fill)-before) <= 0.005*before {
		r.Fills[i].Amount = fmt.Sprintf("%.9g g", math.Round(after*1e4)/1e4)
	}
}

// massOf is what the lines of a mix weigh together.
func (s *stock) massOf(r lab.Recipe, mix string) (float64, bool) {
	recipe, _, err := s.substrateRecipe(r)
	if err != nil {
		return 0, false
	}
	i := slices.IndexFunc(recipe.Mixes, func(m substrate.Mix) bool { return m.Name == mix })
	if i < 0 {
		return 0, false
	}
	answer, err := substrate.Substrate(substrate.SubstrateInput{Jars: 1, Recipe: substrate.Recipe{Mixes: recipe.Mixes[i : i+1]}})
	return answer.Result.PerJar.WetG, err == nil
}

// plan is the trial of a ladder.
func (in LadderInput) plan(base lab.Recipe, rungs []Rung) PlanInput {
	jars := in.Jars
	if jars < 1 {
		jars = 3 // a look, not a verdict
	}
	p := PlanInput{
		Name:     firstOf(strings.TrimSpace(in.Name), fmt.Sprintf("%s: %s from %s to %s", base.Name, in.Step, rungs[0].Amount, rungs[len(rungs)-1].Amount)),
		Question: fmt.Sprintf("How much %s does %s want?", in.Step, base.Name), Differ: []string{string(lab.ByRecipe)},
		Culture: in.Culture, Container: in.Container, Jars: jars, BlanksPerCook: in.Blanks, Cooks: in.Cooks, Shelves: in.Shelves,
		Closing: in.Closing, Seed: in.Seed,
	}
	now, _ := amountIn(base, in.Step)
	doses := PlanFactor{Name: in.Step, Is: string(lab.ByRecipe)}
	for _, r := range rungs {
		doses.Levels = append(doses.Levels, r.Amount)
		p.Arms = append(p.Arms, PlanArm{Name: r.Amount, Recipe: r.Recipe, Levels: []string{r.Amount}})
		if sameAmount(now, r.Amount) {
			p.Control = r.Amount
		}
	}
	p.Factors = []PlanFactor{doses}
	if len(p.Cooks) == 0 {
		p.Cooks = []PlanCook{{Places: []int{jars*len(rungs) + in.Blanks}}}
	}
	return p
}

func sameAmount(a, b string) bool {
	x, err1 := units.Parse(a)
	y, err2 := units.Parse(b)
	return err1 == nil && err2 == nil && x.Dim == y.Dim && math.Abs(x.Value-y.Value) <= 1e-9*math.Abs(x.Value)
}
