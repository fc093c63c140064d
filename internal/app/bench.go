package app

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// BenchSheet is what a make day needs on paper: what to weigh, what goes into
// each jar, and where each jar stands in the cooker.
type BenchSheet struct {
	Batch    lab.Batch
	Trial    *lab.Trial // nil for a plain batch; its arms in the order of their letters
	Blind    bool       // the shelf is not to know what the letters stand for
	Makings  []SheetMaking
	Cooks    []SheetCook
	Jars     []SheetJar // by number
	Recipes  []SheetRecipe
	Step     units.Gram // of the grower's scale
	Cautions []figure.Caution
	Over     []OverList // which jars are whose, and from which lot, if arms are spread over that

	Allergens []string // what the mixes bring that sets off allergies, to be named to whoever eats
}

// SheetRecipe is what one jar of a recipe should come to.
type SheetRecipe struct {
	Name        string
	Vessel      string // what it is filled into: jar, plate, bottle or bag
	WetG        units.Gram
	DryG        *float64
	MoisturePct *float64
	CN          *float64
}

// SheetMaking is one making-up of one mix.
type SheetMaking struct {
	Label    string // which making: jars carry the same label
	Mix      string
	Recipe   string
	RecipeID lab.RecipeVersionID
	Jars     int
	Lines    []SheetLine
	Reserve  float64          // per cent made beyond what the jars take; 0 for what is weighed into each jar
	MakeUpTo string           // as typed in the recipe, "" if not made up to a volume
	Volume   units.Millilitre // to make up, reserve included; 0 if not known
	Grams    units.Gram       // all lines together, 0 if one is not known
	Done     []lab.Making     // logged already
	PerJar   string           // what goes into each jar, as typed
	FillG    units.Gram       // the same in grams, 0 if not known
	Leftover units.Millilitre // of a made-up mix after all jars are filled; 0 if none
	Vessel   string           // what it is filled into: jar, plate, bottle or bag
	Strength string           // what a litre of it holds and fills, in one sentence; "" if it does not pour
	UseBy    lab.Day          // of the leftover, if it is kept cold; zero if it can not be kept
}

// SheetLine is one thing to weigh.
type SheetLine struct {
	Ingredient string
	Typed      string     // in the recipe
	Grams      units.Gram // to weigh, reserve included; 0 if not known
	Weigh      units.Gram // the same to the step of the scale; 0 where that says nothing
	Shows      units.Gram // what the scale shows after it, if it was tared with the empty bowl; 0 if not known
	Pour       bool       // water to make up, poured and not weighed
	Fine       *Stock     // the way out where the scale is too coarse, nil where it is not
	wet        bool       // a fluid that powder would stick to
	Lot        string     // the delivery in use, "" if none is known
	LotNote    string     // what to know about it, such as that it is past its day
}

// SheetCook is one load of the cooker.
type SheetCook struct {
	Cook   CookRow
	Layers []SheetLayer // the top first, as one sees them
}

// SheetLayer is one layer of jars.
type SheetLayer struct {
	Layer int
	Jars  []SheetJar
}

// SheetJar is one jar on the sheet.
type SheetJar struct {
	Number    int
	Code      lab.Code
	Mark      string
	Arm       string
	ArmIndex  int // from 0 in the trial's order, −1 without arm
	Blank     bool
	Recipe    string
	Container string
	Cook      int // its number
	Layer     int
	Shelf     string
	MixMade   string
	Fills     []lab.Fill // as typed in the recipe
}

// BenchSheet returns the bench sheet of a batch.
func (f *Farm) BenchSheet(ctx context.Context, batch string) (BenchSheet, error) {
	var s BenchSheet
	err := f.store.Read(ctx, func(r store.Reader) error {
		b, err := r.BatchByName(ctx, batch)
		if err != nil {
			return err
		}
		s, err = f.benchSheet(ctx, r, b)
		return err
	})
	return s, err
}

func (f *Farm) benchSheet(ctx context.Context, r store.Reader, b lab.Batch) (BenchSheet, error) {
	s := BenchSheet{Batch: b}
	settings, err := readSettings(ctx, r)
	if err != nil {
		return s, err
	}
	s.Step = settings.Step
	if b.Trial != "" {
		t, err := r.Trial(ctx, b.Trial)
		if err != nil {
			return s, err
		}
		m, err := maskOf(ctx, r, t)
		if err != nil {
			return s, err
		}
		if s.Over, err = overOf(ctx, r, t); err != nil {
			return s, err
		}
		t = m.inOrder()
		s.Trial, s.Blind = &t, m.closed()
	}
	rows, err := r.Jars(ctx, store.JarFilter{Batch: b.ID})
	if err != nil {
		return s, err
	}
	names, err := namesOf(ctx, r, rows)
	if err != nil {
		return s, err
	}
	cooks, err := f.cooksOf(ctx, r, rows)
	if err != nil {
		return s, err
	}
	recipes, err := recipesOf(ctx, r, rows)
	if err != nil {
		return s, err
	}
	s.putJars(rows, names, cooks, recipes)
	s.putLayers(cooks)
	if err := f.putMakings(ctx, &s, r, rows, recipes); err != nil {
		return s, err
	}
	s.Cautions = append(s.Cautions, pressureCaution)
	if s.Blind {
		s.Cautions = append(s.Cautions, keySheet)
	}
	return s, nil
}

// recipesOf returns the recipes that rows are filled by.
func recipesOf(ctx context.Context, r store.Reader, rows []store.JarRow) (map[lab.RecipeVersionID]lab.Recipe, error) {
	recipes := make(map[lab.RecipeVersionID]lab.Recipe)
	for _, j := range rows {
		if _, ok := recipes[j.Recipe]; ok || j.Recipe == "" {
			continue
		}
		recipe, err := r.Recipe(ctx, j.Recipe)
		if err != nil {
			return nil, err
		}
		recipes[j.Recipe] = recipe
	}
	return recipes, nil
}

func (s *BenchSheet) putJars(rows []store.JarRow, names Names, cooks []CookRow, recipes map[lab.RecipeVersionID]lab.Recipe) {
	number := make(map[lab.CookID]int)
	for _, c := range cooks {
		number[c.ID] = c.Number
	}
	for _, j := range rows {
		s.Jars = append(s.Jars, SheetJar{
			Number: j.Number, Code: j.Code, Mark: j.Mark, Arm: j.Arm, ArmIndex: s.armIndex(j.Arm), Blank: j.Blank,
			Recipe: names.Recipes[j.Recipe], Container: names.Containers[j.Container], Cook: number[j.Cook], Layer: j.Layer,
			Shelf: j.Shelf, MixMade: j.MixMade, Fills: recipes[j.Recipe].Fills,
		})
	}
}

func (s *BenchSheet) armIndex(name string) int {
	if s.Trial == nil {
		return -1
	}
	return slices.IndexFunc(s.Trial.Arms, func(a lab.Arm) bool { return lab.NameKey(a.Name) == lab.NameKey(name) })
}

// putLayers loads the cookers, the top layer first.
func (s *BenchSheet) putLayers(cooks []CookRow) {
	for _, c := range cooks {
		load := SheetCook{Cook: c}
		byLayer := make(map[int][]SheetJar)
		for _, j := range s.Jars {
			if j.Cook == c.Number {
				byLayer[j.Layer] = append(byLayer[j.Layer], j)
			}
		}
		for layer, jars := range byLayer {
			load.Layers = append(load.Layers, SheetLayer{layer, jars})
		}
		slices.SortFunc(load.Layers, func(a, b SheetLayer) int { return cmp.Compare(b.Layer, a.Layer) })
		s.Cooks = append(s.Cooks, load)
	}
}

// putMakings lists what to make up: each mix of each recipe, once for each
// making that the plan asks for.
func (f *Farm) putMakings(ctx context.Context, s *BenchSheet, r store.Reader, rows []store.JarRow, recipes map[lab.RecipeVersionID]lab.Recipe) error {
	own, err := f.readStock(ctx, r)
	if err != nil {
		return err
	}
	logged, err := r.Makings(ctx, s.Batch.ID)
	if err != nil {
		return err
	}
	logged = lab.Current(logged)
	for _, g := range groupsOf(rows, recipes) {
		var answer SubstrateAnswer
		for i, recipe := range g.recipes {
			part, err := weigh(recipe, g.jars[i], own)
			if err != nil {
				return err
			}
			for _, c := range part.Cautions {
				if !slices.Contains(s.Cautions, c) {
					s.Cautions = append(s.Cautions, c)
				}
			}
			s.addRecipe(recipe, part)
			answer = together(answer, part, i == 0)
		}
		for _, mix := range g.recipes[0].Mixes {
			sm := sheetMaking(g.recipes[0], mix, answer, logged, g.label)
			sm.Jars = g.all()
			s.weighOut(&sm, g.recipes[0], mix, own, answer)
			if g.fillsDiffer(mix.Name) {
				sm.PerJar, sm.FillG = "as the list of jars says", 0
			}
			s.Makings = append(s.Makings, sm)
		}
	}
	s.doubtSheet()
	return nil
}

func sheetMaking(recipe lab.Recipe, mix lab.Mix, answer SubstrateAnswer, logged []lab.Making, label string) SheetMaking {
	m := SheetMaking{Label: label, Mix: mix.Name, Recipe: recipe.String(), RecipeID: recipe.ID, MakeUpTo: mix.MakeUpTo, Vessel: filledInto(recipe)}
	m.Strength = strength(recipe, answer.Result.Broth[mix.Name])
	for _, f := range recipe.Fills {
		if lab.NameKey(f.Mix) == lab.NameKey(mix.Name) {
			m.PerJar = f.Amount
		}
	}
	if v := answer.Result.VolumeML[mix.Name]; v != nil && mix.MakeUpTo != "" {
		m.Volume, m.Reserve = units.Millilitre(*v), DefaultReserve
		m.Leftover = m.Volume * DefaultReserve / (100 + DefaultReserve)
	}
	grams := answer.Result.Batch[mix.Name]
	listed := make(map[string]bool)
	for _, l := range mix.Lines {
		if !listed[l.Ingredient] { // one that stands there twice is weighed once
			m.Lines = append(m.Lines, SheetLine{Ingredient: l.Ingredient, Typed: l.Amount, Grams: units.Gram(grams[l.Ingredient])})
		}
		listed[l.Ingredient] = true
	}
	for _, name := range slices.Sorted(maps.Keys(grams)) { // water to make up
		if !listed[name] {
			m.Lines = append(m.Lines, SheetLine{Ingredient: name, Typed: "to make up", Grams: units.Gram(grams[name]), Pour: true})
		}
	}
	for _, l := range m.Lines {
		m.Grams += l.Grams
	}
	for _, x := range logged {
		if x.Label == label && lab.NameKey(x.Mix) == lab.NameKey(mix.Name) {
			m.Done = append(m.Done, x)
		}
	}
	return m
}

// MakingInput is one making of one mix as weighed.
type MakingInput struct {
	Batch   string
	Label   string // of the making, as on the bench sheet
	Mix     string
	At      string
	Weighed []TypedWeight
}

// TypedWeight is what was weighed of one ingredient. A bare number is grams.
type TypedWeight struct {
	Ingredient string
	Typed      string
	Lot        string // the delivery that it was taken from, such as I7; "" if not said
}

// LogMaking keeps what was weighed for one making of a mix.
func (f *Farm) LogMaking(ctx context.Context, a Act, in MakingInput) (Done, error) {
	weighed, err := readWeights(in.Weighed)
	if err != nil {
		return Done{}, err
	}
	sheet, err := f.BenchSheet(ctx, in.Batch)
	if err != nil {
		return Done{}, err
	}
	planned, err := sheet.making(in.Label, in.Mix)
	if err != nil {
		return Done{}, err
	}
	var done Done
	err = f.store.Write(ctx, func(w store.Writer) error {
		at, err := f.when(ctx, w, "at", in.At)
		if err != nil {
			return err
		}
		deed, err := f.deed(a, sheet.Batch.ID, "%s: made %s, %s", sheet.Batch, planned.Mix, planned.Label)
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What}
		fresh, err := w.AddDeed(ctx, deed)
		if err != nil || !fresh {
			done.Repeat = !fresh
			return err
		}
		if err := f.nameLots(ctx, w, in.Weighed, weighed); err != nil {
			return err
		}
		return w.AddMakings(ctx, []lab.Making{{
			Entry: entryOf(deed, at), Batch: sheet.Batch.ID, Recipe: planned.RecipeID, Mix: planned.Mix, Label: planned.Label, Weighed: weighed,
		}})
	})
	return done, err
}

// nameLots puts the lots that were named into what was weighed.
func (f *Farm) nameLots(ctx context.Context, r store.Reader, typed []TypedWeight, weighed []lab.Weighed) error {
	named := make(map[string]string)
	for _, t := range typed {
		if strings.TrimSpace(t.Lot) != "" {
			named[lab.NameKey(t.Ingredient)] = t.Lot
		}
	}
	if len(named) == 0 {
		return nil
	}
	s, err := f.readStock(ctx, r)
	if err != nil {
		return err
	}
	for i, w := range weighed {
		name, ok := named[lab.NameKey(w.Ingredient)]
		if !ok {
			continue
		}
		lot, err := s.lotNamed(name)
		if err != nil {
			return atField("lot", err)
		}
		if lab.NameKey(lot.Name) != lab.NameKey(w.Ingredient) {
			return lab.Invalidf("lot", "name a lot of "+w.Ingredient+", or leave it out", "%s is a lot of %s, not of %s", lot, lot.Name, w.Ingredient)
		}
		weighed[i].Lot = lot.Lot
	}
	return nil
}

// making returns the making of the sheet that label and mix name.
func (s BenchSheet) making(label, mix string) (SheetMaking, error) {
	var known []string
	for _, m := range s.Makings {
		if m.Label == label && lab.NameKey(m.Mix) == lab.NameKey(mix) {
			return m, nil
		}
		known = append(known, fmt.Sprintf("%s (%s)", m.Mix, m.Label))
	}
	return SheetMaking{}, lab.NotFoundf("choose one of "+strings.Join(known, "; "), "%s has no making %q of %q", s.Batch, label, mix)
}

func readWeights(typed []TypedWeight) ([]lab.Weighed, error) {
	var out []lab.Weighed
	for i, t := range typed {
		if strings.TrimSpace(t.Typed) == "" {
			continue
		}
		field := fmt.Sprintf("w%d", i+1)
		name, err := lab.Name("ingredient", t.Ingredient)
		if err != nil {
			return nil, err
		}
		q, err := units.ParseIn(t.Typed, "g")
		if err != nil {
			return nil, atField(field, err)
		}
		if !(q.Value > 0) {
			return nil, lab.Invalidf(field, "weigh it again, or leave it blank", "%s can not weigh %s", name, t.Typed)
		}
		out = append(out, lab.Weighed{Ingredient: name, Typed: strings.TrimSpace(t.Typed), Grams: q.Value})
	}
	if len(out) == 0 {
		return nil, lab.Invalidf("weighed", "write at least one weight", "nothing was weighed")
	}
	return out, nil
}
