package web

import (
	"math"
	"slices"
	"strconv"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/picture"
)

// draftView is a draft as shown: the sentence first, then the load.
type draftView struct {
	app.Plan
	Jars, Blanks int
	Load         []draftCook
	Curve        *drawing         // nil for a plain batch
	Over         []app.OverList   // which jars have what of all that arms are spread over
	MoreCooks    []overCooks      // the same jars over more cooks
	Doubts       []figure.Caution // what the plan itself is at fault for
	Always       []figure.Caution // what every make day carries
}

// overCooks is one way to spread the jars of an arm.
type overCooks struct{ Cooks, Jars, In100 int }

type draftCook struct {
	Cook   int
	Layers []draftLayer // the top first
}

type draftLayer struct {
	Layer int
	Slots []draftSlot
}

type draftSlot struct {
	Number int
	Arm    int // from 0, −1 for a blank or in a plain batch
	Blank  bool
}

// newDraft draws the load of a plan.
func newDraft(in app.PlanInput, plan app.Plan) *draftView {
	d := &draftView{Plan: plan, Over: plan.OverLists()}
	for _, w := range plan.Ways {
		d.MoreCooks = append(d.MoreCooks, overCooks{w.Cooks, w.Jars, int(math.Round(100 * w.Power))})
	}
	arms := make(armOrder)
	for _, a := range in.Arms {
		arms.index(a.Name)
	}
	for _, s := range plan.Slots {
		if s.Blank {
			d.Blanks++
		} else {
			d.Jars++
		}
		d.put(s.Cook, s.Layer, draftSlot{s.Number, arms.index(s.Arm), s.Blank})
	}
	for i := range d.Load {
		slices.SortFunc(d.Load[i].Layers, func(a, b draftLayer) int { return b.Layer - a.Layer })
	}
	if len(plan.Curve) > 1 {
		d.Curve = chanceDrawing(plan, in.Jars)
	}
	for _, c := range plan.Cautions {
		if c.Weight == figure.Stop || c.Weight == figure.Note {
			d.Always = append(d.Always, c)
		} else {
			d.Doubts = append(d.Doubts, c)
		}
	}
	return d
}

func (d *draftView) put(cook, layer int, s draftSlot) {
	c := slices.IndexFunc(d.Load, func(x draftCook) bool { return x.Cook == cook })
	if c < 0 {
		c, d.Load = len(d.Load), append(d.Load, draftCook{Cook: cook})
	}
	l := slices.IndexFunc(d.Load[c].Layers, func(x draftLayer) bool { return x.Layer == layer })
	if l < 0 {
		l = len(d.Load[c].Layers)
		d.Load[c].Layers = append(d.Load[c].Layers, draftLayer{Layer: layer})
	}
	d.Load[c].Layers[l].Slots = append(d.Load[c].Layers[l].Slots, s)
}

// Says counts the vessels: "24 jars and 2 blanks".
func (d *draftView) Says() string {
	text := count(d.Jars, "jar")
	if d.Blanks > 0 {
		text += " and " + count(d.Blanks, "blank")
	}
	return text
}

// SeedText is the seed as it goes back into the form.
func (d *draftView) SeedText() string { return strconv.FormatUint(d.Seed, 10) }

// chanceDrawing draws how the chance to notice what matters grows with jars.
func chanceDrawing(plan app.Plan, jars int) *drawing {
	c := picture.Chance{Finding: plan.Power, Matters: plan.Trial.Matters, Planned: jars}
	if plan.Unit != lab.OnJar {
		c.Planned, c.Many = plan.Each, plan.Unit.Many()+" to a level"
	}
	for _, q := range plan.Curve {
		c.Points = append(c.Points, picture.ChancePoint{Jars: q.Jars, Chance: q.Chance})
	}
	return newDrawing("chance", deskWide, c.Draw)
}
