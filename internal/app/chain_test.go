package app_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// TestChainOfAJar follows one code back to the sack and the master, and
// forward to what was picked.
func TestChainOfAJar(t *testing.T) {
	onBoth(t, func(b *bench) {
		k := b.cultureLine() // 12 jars from a line of cultures
		batch := k.Batch.String()
		for range 3 {
			b.clock.days(1)
			if _, err := b.See(b.ctx, app.Act{By: "MO"}, app.SeeInput{Jars: batch + "·3", Sign: string(lab.AsBefore)}); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := b.PickJars(b.ctx, app.Act{By: "MO"}, app.PickInput{Picks: []app.TypedPick{{Jar: batch + "·3", Grams: "12.5"}}}); err != nil {
			t.Fatal(err)
		}
		chain, err := b.Chain(b.ctx, batch+"·3")
		if err != nil {
			t.Fatal(err)
		}
		if len(chain.Line) < 2 || chain.Line[0].Name != chain.Carries || chain.Line[len(chain.Line)-1].Parent != "" {
			t.Errorf("the line is %+v", chain.Line)
		}
		if chain.History[0].What != "picked 12.5 g, flush 1" || !strings.HasPrefix(chain.History[1].What, "as before, 3 times since ") || chain.Hidden {
			t.Errorf("what came of it: %+v", chain.History)
		}
		for _, s := range chain.Shared {
			if strings.Contains(s.Jars, "·3") || !strings.Contains(s.Jars, batch+"·") {
				t.Errorf("%s share it: %s", s.What, s.Jars)
			}
		}
		if len(chain.Shared) < 2 {
			t.Errorf("only %+v share it", chain.Shared)
		}
	})
}

// TestChainTellsNoArm asks for the chains of a blind trial of cultures, and
// for that of a plain batch from one of them.
func TestChainTellsNoArm(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-3", Form: "LC", Strain: "A1", Made: "2026-02-10"}))(b)
		open := b.inoculated(plan("open"))
		in := blind()
		in.Differ, in.Recipe = []string{"culture"}, "oats"
		in.Arms = []app.PlanArm{{Name: "plain ration", Culture: "LC-1"}, {Name: "golden ration", Culture: "LC-3"}}
		k := b.inoculated(in)
		for n := 1; n <= 12; n++ {
			chain := must(b.Chain(b.ctx, k.Batch.String()+"·"+strconv.Itoa(n)))(b)
			if !chain.Row.Blank && (!chain.Hidden || len(chain.Line) > 0 || strings.Contains(fmt.Sprint(chain.Shared, chain.History), "LC-")) {
				b.t.Errorf("the chain of %s: %+v, %+v, %+v", chain.Name, chain.Line, chain.Shared, chain.History)
			}
		}
		for _, s := range must(b.Chain(b.ctx, open.Batch.String()+"·1"))(b).Shared {
			if strings.HasPrefix(s.What, "from ") && strings.Contains(s.Jars, k.Batch.String()) {
				b.t.Errorf("the chain of an open jar numbers the jars of an arm: %+v", s)
			}
		}
	})
}
