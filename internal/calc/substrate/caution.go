package substrate

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pinset/internal/figure"
)

// cautions are the doubts about the batch, in the order of its lines.
func (b *batch) cautions(r *SubstrateResult, jar *blend) []figure.Caution {
	out := []figure.Caution{}
	said := map[string]bool{}
	say := func(w figure.Weight, code, about, title, text string) {
		if k := code + "|" + about; !said[k] {
			said[k] = true
			out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
		}
	}
	for i := range b.mixes {
		m := &b.mixes[i]
		for j := range m.parts {
			m.parts[j].doubt(say)
		}
		m.doubt(say)
	}
	if r := b.in.ReservePct; r != nil && r.All != nil && *r.All > 0 && !slices.ContainsFunc(b.mixes, func(m made) bool { return m.mix.MakeUpTo != "" }) {
		say(figure.Note, "reserve_unused", "", "No reserve is made", `The reserve goes to mixes with a make_up_to, and there is none. Give it by mix, such as {"broth": 10}, to have it elsewhere.`)
	}
	b.doubtTarget(r, say)
	b.doubtRoom(r, jar, say)
	if jar.noWater == 0 && (jar.noN > 0 || jar.noC > 0) && jar.n > 0 {
		say(figure.Care, "cn_unknown", "", "C:N can not be said",
			fmt.Sprintf("Nitrogen or carbon of %s is not known. Without it the rest of the jar holds %.3g g of nitrogen and %.4g g of carbon.", gramText(math.Max(jar.noN, jar.noC)), jar.n, jar.c))
	}
	return out
}

type sayer func(w figure.Weight, code, about, title, text string)

// doubt says what is doubtful about one line.
func (p *part) doubt(say sayer) {
	label := quoted(strings.TrimSpace(p.label))
	if p.mix != nil {
		return
	}
	if p.ing == nil {
		text := label + " is not in the table of ingredients, so its"
		var unknown []string
		for _, x := range []struct {
			has  bool
			name string
		}{{p.each.noWater == 0, "water"}, {p.each.noN == 0, "nitrogen"}, {p.each.noC == 0, "carbon"}} {
			if !x.has {
				unknown = append(unknown, x.name)
			}
		}
		if len(unknown) == 0 {
			return
		}
		text += " " + strings.Join(unknown, ", ") + " stay unknown. Give moisture_pct, n_pct_of_dry and c_pct_of_dry"
		if near := theBook().near(p.label); len(near) > 0 {
			text += ", or write " + strings.Join(near, ", or ") + " if that is meant"
		}
		say(figure.Care, "unknown_ingredient", label, "Unknown ingredient", text+".")
		return
	}
	p.doubtRow(label, say)
}

func (p *part) doubtRow(label string, say sayer) {
	if len(p.others) > 0 {
		names := []string{p.ing.Name}
		for _, o := range p.others {
			names = append(names, o.Name)
		}
		say(figure.Care, "which_one", label, "Which one is it?",
			fmt.Sprintf("%s can be %s. It is taken as %s. Read the label and write the full name.", label, strings.Join(names, " or "), p.ing.Name))
	}
	if p.each.noWater > 0 {
		say(figure.Care, "moisture_unknown", label, "Moisture not known",
			fmt.Sprintf("The water in %s differs too much for a book value. Weigh a sample before and after drying and give moisture_pct.", label))
	} else if p.each.noN > 0 || p.each.noC > 0 {
		say(figure.Care, "figures_unknown", label, "Figures not known", fmt.Sprintf("The table has no nitrogen or carbon of %s.", label))
	}
	if p.amount.how != "" && p.ing.Kind != "water" {
		say(figure.Note, "by_measure", label, "Measured by volume or count",
			fmt.Sprintf("%s: %s. Weigh it where recipes are compared.", label, p.amount.how))
	}
	if p.ing.Source == "memory" && p.ing.Kind != "mineral" {
		say(figure.Note, "from_memory", label, "Figures from memory", fmt.Sprintf("The figures of %s come from memory, not from a printed table. %s", label, sentence(p.ing.Note)))
	}
	if p.ing.assumedN && p.line.NPctDry == nil {
		say(figure.Note, "nitrogen_factor", label, "Nitrogen factor assumed", fmt.Sprintf("The table gives the protein of %s but no nitrogen factor; that of its kind is taken.", label))
	}
	if strings.HasPrefix(p.ing.Name, "soy flour") || p.ing.ID == "ndb16119" {
		say(figure.Note, "nitrogen_factor", label, "Two nitrogen factors", fmt.Sprintf("The nitrogen of %s follows the table's factor 6.25; by the factor 5.71 for soy it is 9 %% higher.", label))
	}
	if p.ing.Kind == "carbonate" {
		say(figure.Note, "carbonate", label, "Carbonate left out", fmt.Sprintf("The carbon of %s feeds nothing and is left out of carbon and C:N.", label))
	}
	p.doubtSafety(label, say)
}

func (p *part) doubtSafety(label string, say sayer) {
	switch p.ing.Kind {
	case "egg":
		say(figure.Note, "raw_egg", "", "Raw eggs", "Raw eggs can carry Salmonella. Wash hands and tools after them, keep them cold, and cook the filled jars the same day.")
	case "insect":
		say(figure.Note, "allergen", label, "Insects", fmt.Sprintf("%s can set off allergies, of those who handle the dust and of those who eat what grew on it. Wear a mask, and name it to whoever buys.", label))
	}
	if p.ing.ID == "Ca(OH)2" {
		say(figure.Care, "caustic", label, "Caustic", "Hydrated lime burns eyes and skin. Wear goggles and gloves.")
	}
}

// doubt says what is doubtful about how m is made up.
func (m *made) doubt(say sayer) {
	name := quoted(m.mix.Name)
	for j := range m.parts {
		if m.parts[j].amount.kind == byParts {
			say(figure.Note, "parts_by_weight", name, "Parts by weight", fmt.Sprintf("The parts of the mix %s are taken by weight. Parts by volume differ: weigh a level cup of each.", name))
			break
		}
	}
	if m.filler < 0 {
		return
	}
	if p := &m.parts[m.filler]; p.amount.kind == byMass && math.Abs(p.grams-p.amount.x) > 0.005*p.amount.x {
		say(figure.Care, "water_fills_up", name, "Water follows the volume",
			fmt.Sprintf("The mix %s names %s of water and is made up to %s as well. Water fills up to that: %s.", name, gramText(p.amount.x), quoted(m.mix.MakeUpTo), gramText(p.grams)))
	}
	if m.toVolume && m.whole.mass-m.whole.water > 0.15*m.whole.volume {
		say(figure.Care, "thick_broth", name, "Much is dissolved", fmt.Sprintf("The mix %s holds more than 150 g of dry matter per litre. Its volume and osmotic figures are rough.", name))
	}
}

func (b *batch) doubtTarget(r *SubstrateResult, say sayer) {
	t := b.in.TargetMoisturePct
	switch {
	case t == nil:
	case b.jar.noWater > 0:
		say(figure.Care, "target_unknown", "", "Water for the target can not be said", "The water of an ingredient is not known. Give its moisture_pct.")
	case b.beyond == nil:
		say(figure.Stop, "target_too_dry", "", "The target can not be reached",
			fmt.Sprintf("Without any water poured in the jar would still hold more than %.4g %%. Dry the ingredients, or raise the target.", *t))
	case *b.beyond < 0:
		say(figure.Care, "wetter_than_target", "", "The recipe is wetter than the target",
			fmt.Sprintf("As written a jar holds %.4g %% water. Leave out %s of water per jar to come to %.4g %%.", *r.AsWritten.MoisturePct, gramText(-*b.beyond), *t))
	}
}

func (b *batch) doubtRoom(r *SubstrateResult, jar *blend, say sayer) {
	if r.PerJar.DepthMM == nil {
		return
	}
	if jar.noHeap > 0 {
		say(figure.Note, "depth_without_air", "", "Air is not counted", "How loose a part of the substrate lies is not known. The depth is what it would be with no air in it; measure one jar.")
	}
	if r.HeadspaceMM != nil && *r.HeadspaceMM < 0 {
		say(figure.Stop, "too_full", "", "More than the jar holds",
			fmt.Sprintf("The substrate would stand %.0f mm deep, the jar is %.0f mm high. Fill less, or take a larger jar.", *r.PerJar.DepthMM, b.in.Container.HeightMM))
	}
}

func sentence(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}
