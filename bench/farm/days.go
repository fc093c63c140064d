package main

import (
	"fmt"
	"math"
	"slices"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// crop is the jars of a batch under way.
type crop struct {
	batch lab.Batch
	made  time.Time
	jars  []*jar
}

// jar is one jar with its entries, and how it will go.
type jar struct {
	lab.Jar
	in      []lab.Inoculation
	seen    []lab.Seen
	picks   []lab.Pick
	stages  map[int]lab.Stage // by day after the make day
	fouls   int               // day on which it is seen fouled, 0 never
	picked  int               // day, 0 never
	outcome float64           // grams
}

// The course of a jar, in days. Common practice, no source: full cover within
// three weeks, pins after a month, picked after two.
var usual = []struct {
	stage        lab.Stage
	mean, spread float64
}{
	{lab.Growth, 4, 1}, {lab.Cover, 15, 2}, {lab.Light, 19, 1}, {lab.Colour, 23, 2}, {lab.Pins, 32, 3}, {lab.Ready, 55, 2},
}

const (
	closes  = 62   // days after the make day
	visited = 0.97 // of the jars on a walk
	fouls   = 0.06
	barren  = 0.05
)

// begin plans, cooks and inoculates one batch.
func (p *planting) begin(day int) {
	n := p.batches
	p.batches++
	recipe := recipes[n%len(recipes)]
	in := app.PlanInput{
		Name: fmt.Sprintf("Run %d", n+1), Recipe: recipe, Culture: cultureOf(day), Container: container, Jars: jarsPerBatch, BlanksPerCook: 1,
		Closing: p.at.AddDate(0, 0, closes).Format(time.DateOnly),
	}
	if n%trialEvery == 0 {
		in.Question, in.Differ, in.Recipe, in.Jars, in.Seed = "Which gives more?", []string{"recipe"}, "", jarsPerBatch/2, fmt.Sprint(n+1)
		in.Arms = []app.PlanArm{{Name: "A", Recipe: recipe}, {Name: "B", Recipe: recipes[(n+1)%len(recipes)]}}
		in.Control = "A"
	}
	for range cooksPerBatch {
		in.Cooks = append(in.Cooks, app.PlanCook{Cooker: "tall cooker", Places: []int{20, 21}, Hold: "60 min", Gauge: "15 psi"})
	}
	for i := range shelvesOfBatch {
		in.Shelves = append(in.Shelves, app.PlanShelf{Name: fmt.Sprintf("Shelf %d", (n*shelvesOfBatch+i)%shelves+1), Places: jarsPerBatch/shelvesOfBatch + 1})
	}
	k, err := p.farm.KeepPlan(p.ctx, p.act(), in)
	p.do("plan", err)
	if p.err != nil {
		return
	}
	for i, c := range k.Cooks {
		p.cook(c, p.at.Add(time.Duration(i)*time.Minute))
	}
	p.inoculate(k, day)
}

// cook marks a cook that held.
func (p *planting) cook(c lab.Cook, start time.Time) {
	was := p.at
	for _, m := range []struct {
		after time.Duration
		event lab.Event
	}{{0, lab.Reached}, {64 * time.Minute, lab.HeatOff}, {2 * time.Hour, lab.Opened}} {
		p.at = start.Add(m.after)
		_, err := p.farm.MarkCook(p.ctx, p.act(), fmt.Sprint(c.Number), m.event, "now")
		p.do("mark", err)
	}
	p.at = was
}

// inoculate puts the culture into the jars of a batch, and draws how they
// will go. Forecasts are not kept: they read much.
func (p *planting) inoculate(k app.Kept, day int) {
	c := &crop{batch: k.Batch, made: p.at}
	p.do("inoculate", p.db.Write(p.ctx, func(w store.Writer) error {
		rows, err := w.Jars(p.ctx, store.JarFilter{Batch: k.Batch.ID})
		if err != nil {
			return err
		}
		culture, err := w.CultureByName(p.ctx, cultureOf(day))
		if err != nil {
			return err
		}
		for _, row := range rows {
			c.jars = append(c.jars, &jar{Jar: row.Jar})
		}
		return p.give(w, c, culture)
	}))
	p.jars += len(c.jars)
	p.growing = append(p.growing, c)
}

// give writes that the jars of c got a culture.
func (p *planting) give(w store.Writer, c *crop, culture lab.Culture) error {
	d, err := p.deed(w, c, "inoculated from "+culture.Name, c.jars)
	if err != nil {
		return err
	}
	var all []lab.Inoculation
	for _, x := range c.jars {
		if x.Blank {
			continue
		}
		p.course(x)
		x.in = []lab.Inoculation{{Entry: p.entry(d), Jar: x.ID, Culture: culture.ID, Means: lab.ByLC, Amount: "2 mL"}}
		all = append(all, x.in...)
	}
	return w.AddInoculations(p.ctx, all)
}

// course draws how a jar will go.
func (p *planting) course(x *jar) {
	x.stages = make(map[int]lab.Stage)
	pace, last := 1+0.05*p.draw.NormFloat64(), 0
	for _, u := range usual {
		last = max(last+1, int(math.Round(u.mean*pace+u.spread*p.draw.NormFloat64())))
		x.stages[last] = u.stage
	}
	x.picked, x.outcome = min(closes-1, last+2), math.Max(1, 12+3*p.draw.NormFloat64())
	switch chance := p.draw.Float64(); {
	case chance < fouls:
		x.fouls = 5 + p.draw.IntN(20)
	case chance < fouls+barren:
		x.picked = 0
		for day, stage := range x.stages {
			if stage == lab.Pins || stage == lab.Ready {
				delete(x.stages, day)
			}
		}
	}
}

// walk enters what is seen on all shelves in one day, in one transaction.
func (p *planting) walk() {
	p.do("walk", p.db.Write(p.ctx, func(w store.Writer) error {
		for _, c := range p.growing {
			if err := p.look(w, c); err != nil {
				return err
			}
		}
		return nil
	}))
	var done []*crop
	p.growing = slices.DeleteFunc(p.growing, func(c *crop) bool {
		over := p.at.Sub(c.made).Hours()/24 >= closes
		if over {
			done = append(done, c)
		}
		return over
	})
	for _, c := range done {
		p.settle(c)
	}
}

// look enters what is seen on the jars of one batch, one deed for each thing.
func (p *planting) look(w store.Writer, c *crop) error {
	day := int(p.at.Sub(c.made).Hours() / 24)
	said := make(map[lab.Seen][]*jar)
	var picked []*jar
	for _, x := range c.jars {
		switch s, ok := p.sees(x, day); {
		case x.picked > 0 && day == x.picked && x.fouls == 0:
			picked = append(picked, x)
		case ok:
			said[s] = append(said[s], x)
		}
	}
	for _, s := range inOrder(said) {
		if err := p.enter(w, c, s, said[s]); err != nil {
			return err
		}
	}
	return p.pick(w, c, picked)
}

// inOrder returns what was said in an order that a seed repeats.
func inOrder(said map[lab.Seen][]*jar) []lab.Seen {
	var out []lab.Seen
	for s := range said {
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b lab.Seen) int { return said[a][0].Number - said[b][0].Number })
	return out
}

// sees says what a walk sees on a jar, and whether it looks at it.
func (p *planting) sees(x *jar, day int) (lab.Seen, bool) {
	switch {
	case x.Blank:
		return lab.Seen{Sign: "clean"}, day == 7 || day == 14
	case day < 1 || x.fouls > 0 && day > x.fouls || x.picked > 0 && day > x.picked:
		return lab.Seen{}, false
	case day == x.fouls:
		return lab.Seen{Sign: "green", Fate: lab.Lost, Reason: "fouled"}, true
	case x.stages[day] != "":
		return lab.Seen{Stage: x.stages[day]}, true
	}
	return lab.Seen{Sign: lab.AsBefore}, p.draw.Float64() < visited
}

// deed begins an act on jars of a batch.
func (p *planting) deed(w store.Writer, c *crop, what string, on []*jar) (lab.Deed, error) {
	numbers := make([]int, len(on))
	for i, x := range on {
		numbers[i] = x.Number
	}
	d := lab.Deed{
		ID: id[lab.DeedID](p), What: fmt.Sprintf("%s·%s: %s", c.batch, lab.ShowNumbers(numbers), what),
		Entered: p.at.UTC(), By: p.act().By, Batch: c.batch.ID,
	}
	_, err := w.AddDeed(p.ctx, d)
	return d, err
}

func (p *planting) entry(d lab.Deed) lab.Entry {
	return lab.Entry{ID: id[lab.EntryID](p), Deed: d.ID, At: lab.At(p.at), Entered: d.Entered, By: d.By}
}

// enter writes the same of several jars.
func (p *planting) enter(w store.Writer, c *crop, s lab.Seen, on []*jar) error {
	d, err := p.deed(w, c, s.About(), on)
	if err != nil {
		return err
	}
	all := make([]lab.Seen, len(on))
	for i, x := range on {
		s.Entry, s.Jar = p.entry(d), x.ID
		all[i], x.seen = s, append(x.seen, s)
	}
	p.seen += len(all)
	return w.AddSeen(p.ctx, all)
}

// pick weighs several jars in.
func (p *planting) pick(w store.Writer, c *crop, on []*jar) error {
	if len(on) == 0 {
		return nil
	}
	d, err := p.deed(w, c, "picked", on)
	if err != nil {
		return err
	}
	all := make([]lab.Pick, len(on))
	for i, x := range on {
		typed := fmt.Sprintf("%.1f", x.outcome)
		all[i] = lab.Pick{Entry: p.entry(d), Jar: x.ID, Flush: 1, Grams: units.Gram(math.Round(x.outcome*10) / 10), Typed: typed}
		x.picks = append(x.picks, all[i])
	}
	return w.AddPicks(p.ctx, all)
}

// settle stores what the entries on the jars of a batch come to.
func (p *planting) settle(c *crop) {
	stands, sights := make([]lab.Standing, len(c.jars)), make([]lab.JarSights, len(c.jars))
	for i, x := range c.jars {
		stands[i], sights[i] = x.Stand(x.in, x.seen, x.picks), lab.JarSights{Jar: x.ID, Sights: lab.Sights(x.seen, x.picks)}
	}
	p.do("settle", p.db.Write(p.ctx, func(w store.Writer) error {
		if err := w.SetSights(p.ctx, sights); err != nil {
			return err
		}
		return w.SetStandings(p.ctx, stands)
	}))
}
