package app

import (
	"context"
	"slices"
	"strings"

	"pinset/internal/calc/steam"
	"pinset/internal/calc/substrate"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// SubstrateAnswer is the mass balance of a recipe.
type SubstrateAnswer = figure.Answer[substrate.SubstrateResult]

// DefaultReserve is how much of a mix is made beyond what the jars take, in
// per cent. Common practice, no source.
const DefaultReserve = 5

// weighing is what a recipe is worked out for.
type weighing struct {
	jars      int
	container *substrate.Container
	lcML      *float64
	target    *float64 // moisture, per cent
	drop      *float64 // °C from the cook to the boiling point, nil if it is not known
}

// weigh returns the mass balance of jars filled by recipe r. What the stock
// knows replaces book values; it may be nil.
func weigh(r lab.Recipe, jars int, s *stock) (SubstrateAnswer, error) {
	return s.weigh(r, weighing{jars: jars})
}

func (s *stock) weigh(r lab.Recipe, w weighing) (SubstrateAnswer, error) {
	recipe, cautions, err := s.substrateRecipe(r)
	if err != nil {
		return SubstrateAnswer{}, err
	}
	reserve := float64(DefaultReserve)
	in := substrate.SubstrateInput{
		Recipe: recipe, Jars: w.jars, ReservePct: &substrate.Reserve{All: &reserve},
		Container: w.container, LCMLPerJar: w.lcML, TargetMoisturePct: w.target, CookDropC: w.drop,
	}
	answer, err := substrate.Substrate(in)
	if err != nil {
		return answer, inWords(err)
	}
	for i := range answer.Cautions {
		answer.Cautions[i].Text = forRecords.Replace(answer.Cautions[i].Text)
	}
	answer.Cautions = slices.DeleteFunc(append(answer.Cautions, cautions...), func(c figure.Caution) bool {
		return c.Code == "reserve_unused" || !isCake(r) && c.Code == "cn_unknown" // nobody asked for it
	})
	return answer, nil
}

// forRecords turns the keys of the calculator into what a grower who keeps
// records does.
var forRecords = strings.NewReplacer(
	"Give moisture_pct, n_pct_of_dry and c_pct_of_dry", "Write its water, nitrogen and carbon down with the ingredient",
	"Give its moisture_pct", "Measure it and write it down with the ingredient",
	"give moisture_pct", "write its water down with the ingredient",
	", or give the mix its density_g_ml", "",
	"give its density_g_ml", "write down with the ingredient what a cup of it weighs",
)

// inWords is err without the keys of the calculator.
func inWords(err error) error {
	p, ok := lab.AsProblem(err)
	if !ok {
		return err
	}
	q := *p
	q.Mend = forRecords.Replace(q.Mend)
	return &q
}

// substrateRecipe returns r as the calculator takes it, with what the stock
// knows of each line, and the doubts about that.
func (s *stock) substrateRecipe(r lab.Recipe) (substrate.Recipe, []figure.Caution, error) {
	out := substrate.Recipe{Fill: make(map[string]string)}
	soaked, cautions, err := s.soaked(r)
	if err != nil {
		return out, nil, err
	}
	for _, m := range r.Mixes {
		mix := substrate.Mix{Name: m.Name, MakeUpTo: m.MakeUpTo, PercentOf: m.PercentOf}
		for _, l := range m.Lines {
			line := substrate.Line{Ingredient: l.Ingredient, Amount: l.Amount}
			s.measured(r, &line)
			if soaked != nil && isGrain(l.Ingredient, s) {
				line.MoisturePct = soaked
			}
			mix.Lines = append(mix.Lines, line)
		}
		out.Mixes = append(out.Mixes, mix)
	}
	for _, f := range r.Fills {
		out.Fill[f.Mix] = f.Amount
	}
	return out, append(cautions, s.onePurse(r, &out)...), nil
}

// onePurse takes the prices out where they are of several currencies, for
// those do not add up.
func (s *stock) onePurse(r lab.Recipe, out *substrate.Recipe) []figure.Caution {
	if len(s.currencies(r)) < 2 {
		return nil
	}
	for i := range out.Mixes {
		for j := range out.Mixes[i].Lines {
			out.Mixes[i].Lines[j].PricePerKg = nil
		}
	}
	return []figure.Caution{{
		Code: "several_currencies", Title: "Prices of several currencies", Weight: figure.Note,
		Text: "The lots were paid in " + strings.Join(s.currencies(r), " and ") + ", so no cost is added up. Write their prices in one currency.",
	}}
}

// currencies lists those that the lots of a recipe were paid in.
func (s *stock) currencies(r lab.Recipe) []string {
	var out []string
	for _, m := range r.Mixes {
		for _, l := range m.Lines {
			lot := s.lotFor(r, l.Ingredient)
			if lot != nil && lot.Price.Known() && !slices.Contains(out, lot.Price.Currency) {
				out = append(out, lot.Price.Currency)
			}
		}
	}
	return out
}

func isGrain(name string, s *stock) bool {
	if row := s.of(name); row != nil && row.Figures.StandsFor != "" {
		name = row.Figures.StandsFor
	}
	found := substrate.Find(name)
	return len(found) > 0 && found[0].Kind == "grain"
}

// soaked returns the moisture of grain that was soaked or simmered and
// drained, by its two weighings, in per cent; nil if the recipe is of another
// route or was not weighed.
func (s *stock) soaked(r lab.Recipe) (*float64, []figure.Caution, error) {
	d := r.Details
	if d.Route != lab.Soaked {
		return nil, nil, nil
	}
	if d.SoakDry == "" {
		return nil, []figure.Caution{{
			Code: "soak_not_weighed", Title: "Soaked grain was not weighed", Weight: figure.Care,
			Text: "Grain that is soaked or simmered takes up less than is poured and loses solids. Weigh it dry and again drained; until then the figures are those of dry grain.",
		}}, nil
	}
	dry, err := units.ParseMass(d.SoakDry)
	if err != nil {
		return nil, nil, atField("soak_dry", err)
	}
	drained, err := units.ParseMass(d.SoakDrained)
	if err != nil {
		return nil, nil, atField("soak_drained", err)
	}
	before, ok := s.grainMoisture(r)
	if !ok {
		return nil, []figure.Caution{{
			Code: "soak_unknown", Title: "Moisture of the soaked grain not known", Weight: figure.Care,
			Text: "The water of the grain before it was soaked is not known. Measure it and write it down with the ingredient.",
		}}, nil
	}
	answer, err := substrate.Soak(substrate.SoakInput{GrainG: float64(dry), GrainMoisturePct: before, DrainedG: float64(drained)})
	if err != nil {
		return nil, nil, err
	}
	return &answer.Result.MoisturePct, answer.Cautions, nil
}

// grainMoisture is the water of the first grain of a recipe, per cent.
func (s *stock) grainMoisture(r lab.Recipe) (float64, bool) {
	for _, m := range r.Mixes {
		for _, l := range m.Lines {
			if !isGrain(l.Ingredient, s) {
				continue
			}
			line := substrate.Line{Ingredient: l.Ingredient}
			s.measured(r, &line)
			if line.MoisturePct != nil {
				return *line.MoisturePct, true
			}
			found := substrate.Find(firstOf(line.StandsFor, l.Ingredient))
			if len(found) > 0 && found[0].Moisture != nil {
				return 100 * *found[0].Moisture, true
			}
		}
	}
	return 0, false
}

// dryPerJar returns the dry substrate of one jar in grams, 0 if it is not known.
func dryPerJar(r lab.Recipe, s *stock) (units.Gram, error) {
	if r.NameOnly() {
		return 0, nil
	}
	answer, err := weigh(r, 1, s)
	if err != nil || answer.Result.PerJar.DryG == nil {
		return 0, err
	}
	return units.Gram(*answer.Result.PerJar.DryG), nil
}

// Ask is a question about an ingredient that only its sack or a scale can
// answer. It is asked once and kept with the ingredient.
type Ask struct {
	Ingredient string
	Choices    []string // what the name can mean; nil if a weight is asked for
	Amount     string   // the measure whose weight is not known, "" if a meaning is asked for
}

// Sentence is the question in words.
func (a Ask) Sentence() string {
	if a.Choices != nil {
		return a.Ingredient + " can be " + strings.Join(a.Choices, " or ") + ": what does the label say?"
	}
	return "What does a level cup of " + a.Ingredient + " weigh? " + a.Amount + " can not be turned into grams without it."
}

// asks lists what must be asked about a recipe, each ingredient once.
func (s *stock) asks(r lab.Recipe) []Ask {
	var out []Ask
	asked := make(map[string]bool)
	mixes := make(map[string]bool)
	for _, m := range r.Mixes {
		mixes[lab.NameKey(m.Name)] = true
	}
	for _, m := range r.Mixes {
		for _, l := range m.Lines {
			key := lab.NameKey(l.Ingredient)
			row := s.of(l.Ingredient)
			said := row != nil && row.Figures.StandsFor != ""
			if choices := substrate.Choices(l.Ingredient); choices != nil && !said && !mixes[key] && !asked["is "+key] {
				asked["is "+key] = true
				out = append(out, Ask{Ingredient: l.Ingredient, Choices: choices})
			}
			if !mixes[key] && !asked["cup "+key] && s.lacksDensity(r, l) {
				asked["cup "+key] = true
				out = append(out, Ask{Ingredient: l.Ingredient, Amount: l.Amount})
			}
		}
	}
	return out
}

// lacksDensity reports whether a line is a volume that can not be weighed out.
func (s *stock) lacksDensity(r lab.Recipe, l lab.RecipeLine) bool {
	q, err := units.Parse(l.Amount)
	if err != nil || q.Dim != units.Volume || !(q.Value > 0) {
		return false
	}
	line := substrate.Line{Ingredient: l.Ingredient, Amount: l.Amount}
	s.measured(r, &line)
	_, err = substrate.Substrate(substrate.SubstrateInput{Jars: 1, Recipe: substrate.Recipe{Mixes: []substrate.Mix{{Name: " mix", Lines: []substrate.Line{line}}}}})
	return err != nil
}

// RecipeView is a recipe with its mass balance.
type RecipeView struct {
	lab.Recipe
	Jars      int
	Answer    *SubstrateAnswer // nil for a recipe that is known by name only, or that can not be worked out yet
	Asks      []Ask            // what must be asked first, or makes the figures surer
	Target    *substrate.Target
	Currency  string // of the costs
	Lots      []*LotRow
	Container string
	LC        string   // into one jar, as typed
	Enough    *Enough  // nil if no lot says how much is left
	Altitude  *float64 // m that the steam off is for, nil for the sea
}

// Vessel is what one fill of the recipe goes into, by its route.
func (v RecipeView) Vessel() string { return filledInto(v.Recipe) }

func filledInto(r lab.Recipe) string {
	switch r.Details.Route {
	case lab.AgarPlates:
		return "plate"
	case lab.LCRoute:
		return "bottle"
	case lab.Block:
		return "bag"
	}
	return "jar"
}

// Cake reports whether what is filled is cooked and grown on as it stands:
// agar is poured into plates after its cook, and LC is drawn up by a needle.
func (v RecipeView) Cake() bool { return isCake(v.Recipe) }

func isCake(r lab.Recipe) bool {
	return r.Details.Route != lab.AgarPlates && r.Details.Route != lab.LCRoute
}

// Enough is how many jars what is left of the lots fills.
type Enough struct {
	Jars   int
	Limits string // what runs out first
	Lot    string // of it
}

// RecipeQuery says what a recipe is worked out for. Blanks are not said.
type RecipeQuery struct {
	Name      string
	Version   int // 0 is the newest
	Jars      int
	Container string
	LC        string // liquid culture into one jar, such as "3 mL"
	Target    string // moisture, such as "60 %"
}

// RecipeView returns the newest version of the recipe called name, worked
// out for that many jars.
func (f *Farm) RecipeView(ctx context.Context, name string, jars int) (RecipeView, error) {
	return f.RecipeBalance(ctx, RecipeQuery{Name: name, Jars: jars})
}

// RecipeBalance returns a recipe worked out for q.
func (f *Farm) RecipeBalance(ctx context.Context, q RecipeQuery) (RecipeView, error) {
	v := RecipeView{Jars: max(1, q.Jars)}
	var s *stock
	w := weighing{jars: v.Jars}
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		if v.Recipe, err = r.RecipeByName(ctx, q.Name); err != nil {
			return err
		}
		if strings.TrimSpace(q.Container) != "" {
			c, err := r.ContainerByName(ctx, q.Container)
			if lab.IsKind(err, lab.NotFound) {
				err = lab.Invalidf("container", "choose one of the list, or add it under Supplies", "no container is called %s", q.Container)
			}
			if err != nil {
				return err
			}
			if v.Container = c.Name; v.Cake() {
				w.container = insideOf(c)
			}
		}
		set, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		v.Altitude, w.drop = set.Altitude, cookDrop(set.Altitude)
		s, err = f.readStock(ctx, r)
		return err
	})
	if err != nil {
		return v, err
	}
	if t, ok := substrate.TargetOf(v.Details.Species); ok {
		v.Target = &t
	}
	if v.NameOnly() {
		return v, nil
	}
	if err := v.read(q, &w); err != nil {
		return v, err
	}
	return v, v.workOut(s, w)
}

// usualGauge is the gauge of the cook that the steam off is for, psi. Common
// practice, no source.
const usualGauge = 15.0

// cookDrop is how far a cook at the usual gauge is above the boiling point of
// water at an altitude, °C; nil if the altitude is not said.
func cookDrop(altitudeM *float64) *float64 {
	ambient, err := steam.AmbientAt(altitudeM, nil)
	if err != nil {
		return nil
	}
	boils, err1 := steam.BoilingPoint(ambient)
	cook, err2 := steam.GaugeTemp(ambient, usualGauge*steam.PascalPerPsi)
	if err1 != nil || err2 != nil {
		return nil
	}
	drop := float64(cook - boils)
	return &drop
}

// insideOf returns a container as the calculator takes it, nil if it was not
// measured.
func insideOf(c lab.Container) *substrate.Container {
	if !(c.Bore > 0) {
		return nil
	}
	return &substrate.Container{BoreMM: float64(c.Bore), HeightMM: float64(c.Height)}
}

// read reads what q types.
func (v *RecipeView) read(q RecipeQuery, w *weighing) error {
	v.LC = firstOf(strings.TrimSpace(q.LC), v.Details.LC)
	if v.LC != "" {
		ml, err := units.ParseVolume(v.LC)
		if err != nil {
			return atField("lc", err)
		}
		x := float64(ml)
		w.lcML = &x
	}
	if typed := strings.TrimSpace(q.Target); typed != "" {
		share, err := units.ParseFraction(typed)
		if err != nil {
			return atField("target", err)
		}
		pct := 100 * float64(share)
		w.target = &pct
	}
	return nil
}

// workOut fills in the figures.
func (v *RecipeView) workOut(s *stock, w weighing) error {
	v.Asks = s.asks(v.Recipe)
	if currencies := s.currencies(v.Recipe); len(currencies) == 1 {
		v.Currency = currencies[0]
	}
	for _, m := range v.Mixes {
		for _, l := range m.Lines {
			if lot := s.lotFor(v.Recipe, l.Ingredient); lot != nil && !slices.Contains(v.Lots, lot) {
				v.Lots = append(v.Lots, lot)
			}
		}
	}
	answer, err := s.weigh(v.Recipe, w)
	if err != nil {
		if slices.ContainsFunc(v.Asks, func(a Ask) bool { return a.Amount != "" }) {
			return nil // it is asked for
		}
		return err
	}
	if v.Answer = &answer; !v.Cake() {
		answer.Result.SteamOff = nil
	}
	v.Enough = s.enough(v.Recipe)
	return nil
}

// enough finds how many jars the lots of a recipe fill, with the reserve.
func (s *stock) enough(r lab.Recipe) *Enough {
	have := make(map[string]float64)
	lots := make(map[string]string)
	for _, m := range r.Mixes {
		for _, l := range m.Lines {
			lot := s.lotFor(r, l.Ingredient)
			if lot == nil || lot.Left == nil {
				continue
			}
			if *lot.Left <= 0 {
				return &Enough{Limits: l.Ingredient, Lot: lot.String()}
			}
			have[l.Ingredient], lots[l.Ingredient] = float64(*lot.Left), lot.String()
		}
	}
	recipe, _, err := s.substrateRecipe(r)
	if err != nil || len(have) == 0 {
		return nil
	}
	reserve := float64(DefaultReserve)
	answer, err := substrate.Scale(substrate.ScaleInput{Recipe: recipe, ReservePct: &substrate.Reserve{All: &reserve}, Have: have})
	if err != nil { // more jars than can be planned
		return nil
	}
	return &Enough{Jars: answer.Result.Jars, Limits: answer.Result.Limits, Lot: lots[answer.Result.Limits]}
}

// FillOf is how much of the mix goes into one jar, as typed.
func (v RecipeView) FillOf(mix string) string {
	for _, f := range v.Fills {
		if lab.NameKey(f.Mix) == lab.NameKey(mix) {
			return f.Amount
		}
	}
	return ""
}
