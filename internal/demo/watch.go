package demo

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// course is how one jar will go.
type course struct {
	number int
	arm    string
	stages map[lab.Stage]int // day after the make day on which a walk sees it
	fouls  int               // day on which it is seen fouled, 0 never
	picked int               // day, 0 never
	grams  float64
}

// Days after the make day, mean and spread. Common practice, no source: full
// cover within about three weeks, pins after about a month, picked after
// about two.
var usual = []struct {
	stage        lab.Stage
	mean, spread float64
}{
	{lab.Growth, 4, 1}, {lab.Cover, 15, 2}, {lab.Light, 19, 1}, {lab.Colour, 23, 2}, {lab.Pins, 32, 3}, {lab.Ready, 58, 3},
}

// watch walks the shelves every three days and enters what is seen.
func (p *planting) watch(k app.Kept, b batch) {
	view, err := p.farm.BatchView(p.ctx, k.Batch.String(), 0)
	p.do("watch", err)
	var courses []course
	for _, j := range view.Jars {
		if !j.Blank && !j.Inoculated.IsZero() {
			courses = append(courses, p.course(j.Number, b, j.Arm))
		}
	}
	for day := 3; day <= 69 && p.day(b.before-day); day += 3 {
		p.walk(k, day, courses)
		p.shoot(k, b, day, courses)
	}
}

// course draws how a jar will go. A walk every third day sees things late.
func (p *planting) course(number int, b batch, arm string) course {
	c := course{number: number, arm: arm, stages: make(map[lab.Stage]int)}
	pace := 1 + 0.08*p.draw.NormFloat64()
	last := 0
	for _, u := range usual {
		day := int(math.Ceil((u.mean*pace+u.spread*p.draw.NormFloat64())/3)) * 3
		last = max(last, max(3, day))
		c.stages[u.stage] = last
	}
	if p.draw.Float64() < b.fouls {
		c.fouls = 6 + 3*p.draw.IntN(5)
	}
	c.picked = min(69, c.stages[lab.Ready]+3)
	c.grams = math.Max(0.5, b.grams[arm]*(1+spread*p.draw.NormFloat64()))
	if p.draw.Float64() < b.barren {
		c.picked = 0
		delete(c.stages, lab.Pins)
		delete(c.stages, lab.Ready)
	}
	return c
}

// cover is what a walk reads between first growth and full cover, in tens of
// per cent; 0 before and after.
func (c course) cover(day int) int {
	full := c.stages[lab.Cover]
	if day <= c.stages[lab.Growth] || day >= full {
		return 0
	}
	share := 1 / (1 + math.Exp(-0.55*(float64(day)-float64(full)+5)))
	return min(90, max(10, int(math.Round(10*share))*10))
}

// walk enters all that is seen on one day, jars of one kind together.
func (p *planting) walk(k app.Kept, day int, courses []course) {
	seen, covers := make(map[lab.Stage][]int), make(map[int][]int)
	var fouled, before []int
	var picks []app.TypedPick
	for _, c := range courses {
		if c.fouls > 0 && day > c.fouls {
			continue
		}
		if day == c.fouls {
			fouled = append(fouled, c.number)
			continue
		}
		fresh := false
		for stage, d := range c.stages {
			if d == day {
				seen[stage] = append(seen[stage], c.number)
				fresh = true
			}
		}
		if cover := c.cover(day); cover > 0 && !fresh {
			covers[cover] = append(covers[cover], c.number)
		} else if !fresh && (day < c.picked || c.picked == 0) {
			before = append(before, c.number)
		}
		if day == c.picked {
			picks = append(picks, app.TypedPick{Jar: fmt.Sprintf("%s·%d", k.Batch, c.number), Grams: fmt.Sprintf("%.1f", c.grams)})
		}
	}
	p.at = p.at.Add(10 * time.Hour)
	if p.at.After(p.last) {
		p.at = p.last
	}
	span := func(numbers []int) string { return k.Batch.String() + "·" + lab.ShowNumbers(numbers) }
	for _, stage := range lab.Stages {
		if numbers := seen[stage]; len(numbers) > 0 {
			_, err := p.farm.See(p.ctx, p.act(), app.SeeInput{Jars: span(numbers), Stage: string(stage)})
			p.do("seen", err)
		}
	}
	for cover := 10; cover < 100; cover += 10 {
		if numbers := covers[cover]; len(numbers) > 0 && k.Trial != nil {
			_, err := p.farm.See(p.ctx, app.Act{By: "IV"}, app.SeeInput{Jars: span(numbers), Cover: strconv.Itoa(cover)})
			p.do("cover", err)
		}
	}
	if len(before) > 0 && k.Trial != nil { // a trial's days are known only if jars without the stage are entered, too
		_, err := p.farm.See(p.ctx, app.Act{By: "IV"}, app.SeeInput{Jars: span(before), Sign: string(lab.AsBefore)})
		p.do("as before", err)
	}
	if len(fouled) > 0 {
		_, err := p.farm.See(p.ctx, p.act(), app.SeeInput{Jars: span(fouled), Sign: "green", Fate: string(lab.Lost), Reason: "fouled"})
		p.do("fouled", err)
	}
	if len(picks) > 0 {
		_, err := p.farm.PickJars(p.ctx, p.act(), app.PickInput{Picks: picks})
		p.do("picks", err)
	}
}

func secondsOf(minutes float64) time.Duration { return time.Duration(minutes * float64(time.Minute)) }
