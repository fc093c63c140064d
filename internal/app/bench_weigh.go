package app

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pinset/internal/calc/substrate"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/units"
)

// fewSteps is how many steps of the scale an amount must weigh: below it the
// rounding alone is more than 5 %.
const fewSteps = 10

// Stock is a way to weigh what is too little for the scale: weigh more of
// it, thin it, and take a share.
type Stock struct {
	Weigh  units.Gram // of the ingredient
	In     string     // what it is thinned with
	Volume units.Millilitre
	Mass   units.Gram // of the thinned mix, where it does not dissolve
	Take   float64    // mL of the solution, or g of the mix
	Unit   string     // "mL" or "g"
}

// Sentence says what to do.
func (s Stock) Sentence(ingredient string) string {
	if s.Unit == "mL" {
		return fmt.Sprintf("Dissolve %s of %s in water to %s and take %.3g mL.", s.Weigh, ingredient, s.Volume, s.Take)
	}
	rubbed := s.Take * float64((s.Mass-s.Weigh)/s.Mass)
	return fmt.Sprintf("Rub %s of %s into %s of %s, take %.3g g of it, and weigh %.3g g less of %s.", s.Weigh, ingredient, s.Mass-s.Weigh, s.In, s.Take, rubbed, s.In)
}

// stockFor finds a way to weigh grams of an ingredient on a scale of that
// step. with is a dry ingredient of the same mix, "" if there is none.
func stockFor(grams, step units.Gram, dissolves bool, with string) *Stock {
	if !(grams > 0) || !(step > 0) || grams >= fewSteps*step {
		return nil
	}
	weigh := units.Gram(math.Ceil(20*float64(step)*2) / 2) // 2.5 % of rounding at most
	if dissolves {
		volume := 100.0
		for float64(grams/weigh)*volume < 1 { // a syringe of 1 mL is the least
			volume *= 10
		}
		return &Stock{Weigh: weigh, In: "water", Volume: units.Millilitre(volume), Take: float64(grams/weigh) * volume, Unit: "mL"}
	}
	if with == "" {
		return nil
	}
	thin := 20.0 // one in twenty
	for float64(grams)*thin < fewSteps*float64(step) {
		thin *= 5
	}
	return &Stock{Weigh: weigh, In: with, Mass: weigh * units.Gram(thin), Take: float64(grams) * thin, Unit: "g"}
}

// parseStep reads the step of a scale.
func parseStep(typed string) (units.Gram, error) {
	q, err := units.ParseIn(typed, "g")
	if err != nil {
		return 0, atField("step", err)
	}
	if q.Dim != units.Mass || !(q.Value >= 0.0001 && q.Value <= 100) {
		return 0, lab.Invalidf("step", "write the smallest difference that it shows, such as 1 g or 0.1 g", "a scale does not show steps of %s", typed)
	}
	return units.Gram(q.Value), nil
}

// weighOut puts the lines of a making into the order in which they are
// weighed, and says what the scale shows after each.
func (s *BenchSheet) weighOut(m *SheetMaking, recipe lab.Recipe, mix lab.Mix, own *stock, answer SubstrateAnswer) {
	for i := range m.Lines {
		l := &m.Lines[i]
		l.wet = substrate.Pours(meaning(l.Ingredient, own))
		l.Pour = l.Pour || isWater(l.Ingredient) && mix.MakeUpTo != ""
		if lot := own.lotFor(recipe, l.Ingredient); lot != nil {
			l.Lot, l.LotNote = lot.String(), lotNote(lot, l.Grams)
		}
	}
	slices.SortStableFunc(m.Lines, func(a, b SheetLine) int { // fluids last: powder sticks to a wet bowl
		return cmp.Or(cmp.Compare(wetness(a), wetness(b)), cmp.Compare(b.Grams, a.Grams))
	})
	with := m.thinnedWith()
	sum := units.Gram(0)
	for i := range m.Lines {
		l := &m.Lines[i]
		if l.Pour || !(l.Grams > 0) {
			continue
		}
		l.Fine = stockFor(l.Grams, s.Step, substrate.Dissolves(meaning(l.Ingredient, own)) && mix.MakeUpTo != "", with)
		if l.Grams >= fewSteps*s.Step {
			l.Weigh = units.Gram(math.Round(float64(l.Grams/s.Step))) * s.Step
			sum += l.Weigh
			l.Shows = sum
		}
	}
	if w, ok := answer.Result.Mixes[mix.Name]; ok && m.Jars > 0 {
		m.FillG = units.Gram(w.WetG / float64(m.Jars) / (1 + m.Reserve/100))
	}
	if m.Leftover > 0 {
		m.UseBy = useBy(s.Batch, mix)
	}
	for _, l := range mix.Lines {
		s.addAllergens(l.Ingredient, own)
	}
}

func wetness(l SheetLine) int {
	switch {
	case l.Pour:
		return 3
	case isWater(l.Ingredient):
		return 2
	case l.wet:
		return 1
	}
	return 0
}

// strength says what a litre of a mix that pours holds, and how many plates
// or bottles it fills.
func strength(r lab.Recipe, s substrate.Solution) string {
	var holds []string
	if s.AgarGL != nil {
		holds = append(holds, fmt.Sprintf("%.3g g of agar", *s.AgarGL))
	}
	if s.SugarsGL != nil && (*s.SugarsGL > 0 || s.AgarGL != nil) {
		least := ""
		if s.SugarsAtLeast {
			least = "at least "
		}
		holds = append(holds, fmt.Sprintf("%s%.3g g of sugars", least, *s.SugarsGL))
	}
	text := ""
	if len(holds) > 0 {
		text = "A litre holds " + strings.Join(holds, " and ")
	}
	if !isCake(r) && s.JarsPerL != nil {
		if text == "" {
			text = "A litre"
		} else {
			text += " and"
		}
		text += fmt.Sprintf(" fills %.3g %ss", *s.JarsPerL, filledInto(r))
	}
	if text != "" {
		text += "."
	}
	return text
}

// thinnedWith is the dry ingredient that most is weighed of.
func (m *SheetMaking) thinnedWith() string {
	for _, l := range m.Lines {
		if wetness(l) == 0 && l.Grams >= 200 && len(substrate.Find(l.Ingredient)) > 0 {
			return l.Ingredient
		}
	}
	return ""
}

func isWater(name string) bool {
	found := substrate.Find(name)
	return len(found) > 0 && found[0].Kind == "water"
}

// meaning is the row of the book that an ingredient stands for.
func meaning(name string, own *stock) string {
	if row := own.of(name); row != nil && row.Figures.StandsFor != "" {
		return row.Figures.StandsFor
	}
	return name
}

func lotNote(l *LotRow, needed units.Gram) string {
	var notes []string
	if l.Past {
		notes = append(notes, "best before "+l.BestBefore.String())
	}
	if l.Left != nil && *l.Left < needed {
		notes = append(notes, fmt.Sprintf("%s left", max(0, *l.Left)))
	}
	return strings.Join(notes, ", ")
}

// useBy is the day until which what is left of a broth keeps in the cold,
// uncooked: the day after it was made. With egg it does not keep. Common
// practice, no source.
func useBy(b lab.Batch, mix lab.Mix) lab.Day {
	for _, l := range mix.Lines {
		if found := substrate.Find(l.Ingredient); len(found) > 0 && (found[0].Kind == "egg" || found[0].Kind == "fresh") {
			return lab.Day{}
		}
	}
	day, ok := b.Made.Day(time.UTC)
	if !ok {
		return lab.Day{}
	}
	return lab.Day{Time: day.AddDate(0, 0, 1)}
}

func (s *BenchSheet) addAllergens(ingredient string, own *stock) {
	all := substrate.Allergens(meaning(ingredient, own))
	if row := own.of(ingredient); row != nil {
		all = append(all, row.Figures.Allergens...)
	}
	for _, a := range all {
		if !slices.ContainsFunc(s.Allergens, func(o string) bool { return lab.NameKey(o) == lab.NameKey(a) }) {
			s.Allergens = append(s.Allergens, a)
		}
	}
}

func (s *BenchSheet) addRecipe(r lab.Recipe, answer SubstrateAnswer) {
	name := r.String()
	if slices.ContainsFunc(s.Recipes, func(x SheetRecipe) bool { return x.Name == name }) {
		return
	}
	jar := answer.Result.PerJar
	s.Recipes = append(s.Recipes, SheetRecipe{Name: name, Vessel: filledInto(r), WetG: units.Gram(jar.WetG), DryG: jar.DryG, MoisturePct: jar.MoisturePct, CN: jar.CN})
}

// doubtSheet adds the cautions that stand on a sheet whatever is on it.
func (s *BenchSheet) doubtSheet() {
	for _, m := range s.Makings {
		for _, l := range m.Lines {
			if l.Pour || !(l.Grams > 0 && l.Grams < fewSteps*s.Step) {
				continue
			}
			way := "Weigh it on a finer scale, or weigh it for several makings at once."
			if l.Fine != nil {
				way = l.Fine.Sentence(l.Ingredient) + " Or weigh it on a finer scale."
			}
			off := fmt.Sprintf("is off by up to %.0f %%", 50*float64(s.Step/l.Grams))
			if l.Grams < s.Step/2 {
				off = "does not show at all"
			}
			s.Cautions = append(s.Cautions, figure.Caution{
				Code: "scale_too_coarse", Title: "Too little for the scale", Weight: figure.Care,
				Text: fmt.Sprintf("%s of %s on a scale of steps of %s %s. %s", l.Grams, l.Ingredient, s.Step, off, way),
			})
		}
	}
	if len(s.Allergens) > 0 {
		s.Cautions = append(s.Cautions, figure.Caution{
			Code: "allergens", Title: "Allergens", Weight: figure.Stop,
			Text: "The mixes bring " + strings.Join(s.Allergens, ", ") + ". Name them to whoever handles the dust and to whoever eats what grew on it; the sacks say more, and food law where you live says how.",
		})
	}
	if len(s.Makings) > 0 {
		s.Cautions = append(s.Cautions, hotCaution)
	}
}

// hotCaution stands on every sheet that ends in filled vessels.
var hotCaution = figure.Caution{
	Code: "hot_glass", Title: "Hot glass and hot broth", Weight: figure.Care,
	Text: "Glass breaks by sudden heat or cold: warm broth into warm jars, no cold water on hot ones. Leave headspace, vent the lids, and let jars cool before they are moved.",
}
