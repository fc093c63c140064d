package demo

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// batch says how one batch of the year went.
type batch struct {
	before  int // days before today on which it was made
	plan    app.PlanInput
	holds   []float64 // minutes at the target, by cook; a second stretch follows a break where negative
	amount  string
	reason  string             // to inoculate although a cook did not hold
	grams   map[string]float64 // mean per jar by arm, "" without arms
	fouls   float64            // chance per jar to foul
	barren  float64            // chance per jar not to fruit
	waiting bool               // cooked, not yet inoculated
	shots   []int              // days after the make day on which one jar of each arm is photographed
}

// spread between jars, as a share of the mean. It is the planning default of
// the trade's published trials (9 to 36 %), not a measurement.
const spread = 0.24

var twoLayers = []int{7, 7}

// cooks returns n loads of two layers with a hold of 60 min.
func cooks(n int) []app.PlanCook {
	out := make([]app.PlanCook, n)
	for i := range out {
		out[i] = app.PlanCook{Cooker: "tall cooker", Places: twoLayers, Hold: "60 min", Gauge: "15 psi"}
	}
	return out
}

var shelves = []app.PlanShelf{{Name: "top", Places: 16}, {Name: "middle", Places: 16}, {Name: "low", Places: 16}}

// plain is a batch without arms.
func plain(name, recipe, culture string, jars, loads int) app.PlanInput {
	return app.PlanInput{
		Name: name, Recipe: recipe, Culture: culture, Container: "half-litre jar", Jars: jars, BlanksPerCook: 1,
		Cooks: cooks(loads), Shelves: shelves,
	}
}

// comparing is a trial of two arms.
func comparing(in app.PlanInput, question, differ string, a, b app.PlanArm) app.PlanInput {
	in.Question, in.Differ, in.Arms, in.Control, in.Seed = question, []string{differ}, []app.PlanArm{a, b}, a.Name, "7207"
	in.MakePerCook = differ == "recipe"
	return in
}

// year is the farm's year, the oldest batch first.
var year = []batch{
	{before: 346, plan: plain("First oats", "oat cake", "LC-1", 24, 2), holds: []float64{64, 61}, amount: "2 mL", grams: map[string]float64{"": 11}, fouls: 0.08, barren: 0.08},
	{
		before: 296, amount: "2 mL", holds: []float64{63, 66}, fouls: 0.04, barren: 0.02,
		plan: comparing(plain("Millet or oats", "", "LC-2", 12, 2), "Does millet give more than oat groats?", "recipe",
			app.PlanArm{Name: "oats", Recipe: "oat cake"}, app.PlanArm{Name: "millet", Recipe: "millet cake"}),
		grams: map[string]float64{"oats": 10.5, "millet": 16.5}, shots: []int{15, 57},
	},
	{before: 236, plan: plain("Autumn millet", "millet cake", "LC-3", 24, 2), holds: []float64{62, 60}, amount: "2 mL", grams: map[string]float64{"": 14}, fouls: 0.7, barren: 0.05, shots: []int{3}},
	{
		before: 188, amount: "2 mL", holds: []float64{70, 61}, fouls: 0.1, barren: 0.08,
		plan: comparing(plain("Deep or shallow", "", "LC-4", 12, 2), "Is a cake half as deep again worth the grain?", "recipe",
			app.PlanArm{Name: "shallow", Recipe: "oat cake"}, app.PlanArm{Name: "deep", Recipe: "deep oat cake"}),
		grams: map[string]float64{"shallow": 11, "deep": 11.8},
	},
	{before: 130, plan: plain("Winter oats", "oat cake", "LC-4", 24, 2), holds: []float64{62, -38}, amount: "2 mL", reason: "no fuel left to cook again, watched apart", grams: map[string]float64{"": 11}, fouls: 0.15, barren: 0.08},
	{before: 78, plan: plain("Spring millet", "millet cake", "LC-4", 26, 2), holds: []float64{61, 65}, amount: "2 mL", grams: map[string]float64{"": 14.5}, fouls: 0.06, barren: 0.05},
	{
		before: 39, amount: "as the arm says", holds: []float64{66, 62}, fouls: 0.08, barren: 0.05,
		plan: comparing(plain("Two or four mL", "millet cake", "LC-5", 10, 2), "Does a double dose of LC bring pins sooner or more?", "treatment",
			app.PlanArm{Name: "2 mL", Treatment: "2 mL of LC"}, app.PlanArm{Name: "4 mL", Treatment: "4 mL of LC"}),
		grams: map[string]float64{"2 mL": 14, "4 mL": 15}, shots: []int{6, 15, 24, 36},
	},
	{before: 1, plan: plain("Market jars", "millet cake", "LC-5", 12, 1), holds: []float64{63}, waiting: true},
}

// grow plants one batch: planned, made, cooked, inoculated, watched, picked.
func (p *planting) grow(b batch) {
	if !p.day(b.before) {
		return
	}
	b.plan.Closing = p.at.AddDate(0, 0, 72).Format("2006-01-02")
	k, err := p.farm.KeepPlan(p.ctx, p.act(), b.plan)
	p.do("plan "+b.plan.Name, err)
	if p.err != nil {
		return
	}
	p.make(k)
	for i, c := range k.Cooks {
		p.cook(c, b.before, i, b.holds[i])
	}
	if b.waiting || !p.day(b.before-1) {
		return
	}
	amount := b.amount
	if b.plan.Arms != nil && b.plan.Differ[0] == "treatment" {
		amount = ""
	}
	_, err = p.farm.Inoculate(p.ctx, p.act(), app.InoculateInput{Batch: k.Batch.String(), Amount: amount, Override: b.reason, At: "now"})
	p.do("inoculate "+b.plan.Name, err)
	p.readBlanks(k, b)
	p.watch(k, b)
}

// make logs what was weighed, a little beside the sheet.
func (p *planting) make(k app.Kept) {
	sheet, err := p.farm.BenchSheet(p.ctx, k.Batch.String())
	p.do("bench sheet", err)
	for _, m := range sheet.Makings {
		in := app.MakingInput{Batch: k.Batch.String(), Label: m.Label, Mix: m.Mix}
		for _, l := range m.Lines {
			grams := float64(l.Grams) * (1 + 0.004*p.draw.NormFloat64())
			in.Weighed = append(in.Weighed, app.TypedWeight{Ingredient: l.Ingredient, Typed: fmt.Sprintf("%.1f g", math.Max(grams, 0.1))})
		}
		_, err := p.farm.LogMaking(p.ctx, p.act(), in)
		p.do("making", err)
	}
}

// cook marks one cook of its day, one after the other. A negative hold is broken
// after as many minutes and taken up again for half as long.
func (p *planting) cook(c lab.Cook, before, nth int, hold float64) {
	p.day(before)
	start := p.at.Add(secondsOf(float64(nth)*170 + 25))
	mark := func(minutes float64, e lab.Event) {
		p.at = start.Add(secondsOf(minutes))
		_, err := p.farm.MarkCook(p.ctx, p.act(), fmt.Sprint(c.Number), e, "now")
		p.do("mark "+c.String(), err)
	}
	mark(0, lab.Reached)
	end := math.Abs(hold)
	if hold < 0 {
		mark(end, lab.Broken)
		mark(end+9, lab.Back)
		end += 9 + end/2
	}
	mark(end, lab.HeatOff)
	mark(end+55, lab.Opened)
}

// readBlanks reads the blanks on day 7 and 14: those of a cook that did not
// hold foul.
func (p *planting) readBlanks(k app.Kept, b batch) {
	view, err := p.farm.BatchView(p.ctx, k.Batch.String(), 0)
	p.do("blanks", err)
	for _, day := range []int{7, 14} {
		if !p.day(b.before - day) {
			return
		}
		for _, j := range view.Jars {
			if !j.Blank {
				continue
			}
			sign := "clean"
			if i := slices.IndexFunc(k.Cooks, func(c lab.Cook) bool { return c.ID == j.Cook }); b.holds[i] < 0 && day == 14 {
				sign = "slime"
			}
			_, err := p.farm.See(p.ctx, p.act(), app.SeeInput{Jars: fmt.Sprintf("%s·%d", k.Batch, j.Number), Sign: sign})
			p.do("blank", err)
		}
	}
}
