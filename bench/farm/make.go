package main

import (
	"context"
	"fmt"
	"log"
	"math/rand/v2"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
)

// The size of the farm. A batch is made on most days, now and then two.
const (
	jarsPerBatch   = 80
	cooksPerBatch  = 2
	batchesPerDay  = 1.6
	shelves        = 64
	shelvesOfBatch = 4
	cultureEvery   = 14 // days
	trialEvery     = 12 // batches
	manyLabels     = 1000

	labelled  = "Thousand" // the batch whose labels are printed
	container = "half-litre jar"
)

// planting is the work of planting, which stops at the first error.
type planting struct {
	ctx     context.Context
	db      *sqldb.DB
	farm    *app.Farm
	at      time.Time // the clock
	draw    *rand.Rand
	growing []*crop
	batches int
	jars    int
	seen    int
	err     error
}

// plant fills empty records with a farm that has been growing for so many
// days until today.
func plant(ctx context.Context, db *sqldb.DB, o options) error {
	p := &planting{ctx: ctx, db: db, draw: rand.New(rand.NewPCG(o.seed, 1))}
	p.farm = app.New(db, app.WithClock(func() time.Time { return p.at }), app.WithChance(chance{rand.New(rand.NewPCG(o.seed, 2))}))
	first := time.Now().UTC().Truncate(24*time.Hour).AddDate(0, 0, -o.days).Add(5 * time.Hour)
	p.at = first
	p.stock()
	for day := 0; day <= o.days && p.err == nil; day++ {
		p.at = first.AddDate(0, 0, day)
		p.live(day)
		if day%30 == 0 {
			log.Printf("day %d: %d batches, %d jars, %d seen", day, p.batches, p.jars, p.seen)
		}
	}
	for _, c := range p.growing {
		p.settle(c)
	}
	_, err := p.farm.KeepPlan(ctx, p.act(), app.PlanInput{
		Name: labelled, Recipe: recipes[0], Culture: cultureOf(o.days), Container: container, Jars: manyLabels,
		Cooks: []app.PlanCook{{Cooker: "autoclave", Places: []int{250, 250, 250, 250}, Hold: "90 min"}},
	})
	p.do("batch to label", err)
	log.Printf("%d batches, %d jars, %d seen", p.batches+1, p.jars+manyLabels, p.seen)
	return p.err
}

// chance gives codes and seeds from the farm's seed. One at a time asks.
type chance struct{ r *rand.Rand }

// Read fills b and never fails.
func (c chance) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = byte(c.r.Uint32())
	}
	return len(b), nil
}

func (p *planting) do(what string, err error) {
	if err != nil && p.err == nil {
		p.err = fmt.Errorf("plant, %s: %w", what, err)
	}
}

// act signs an entry with one of six people.
func (p *planting) act() app.Act {
	return app.Act{By: []string{"AK", "BL", "CM", "DN", "EO", "FP"}[p.draw.IntN(6)]}
}

// id makes an identifier in the order of the clock, as UUIDv7 are.
func id[T ~string](p *planting) T {
	a, b := p.draw.Uint64(), p.draw.Uint64()
	return T(fmt.Sprintf("%08x-%04x-7%03x-%04x-%012x", p.at.UnixMilli()>>16, p.at.UnixMilli()&0xffff, a&0xfff, 0x8000|a>>12&0x3fff, b&0xffffffffffff))
}

var (
	grains  = []string{"oat groats", "millet", "rye", "brown rice", "wheat", "sorghum"}
	recipes = []string{"oat groats cake", "millet cake", "rye cake", "brown rice cake", "wheat cake", "sorghum cake"}
)

// stock fills the shelves of the lab before the first day.
func (p *planting) stock() {
	p.do("settings", p.farm.SaveSettings(p.ctx, app.NewSettings{Name: "Big farm", Zone: "UTC", Altitude: "120 m"}))
	for i, grain := range grains {
		_, err := p.farm.AddIngredient(p.ctx, app.NewIngredient{Name: grain, Moisture: "10 %"})
		p.do(grain, err)
		_, err = p.farm.AddRecipe(p.ctx, app.NewRecipe{
			Name:  recipes[i],
			Mixes: []lab.Mix{{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: grain, Amount: "40 g"}}}},
			Fills: []lab.Fill{{Mix: "grain", Amount: "40 g"}},
		})
		p.do(recipes[i], err)
	}
	_, err := p.farm.AddContainer(p.ctx, app.NewContainer{Name: container, Kind: "jar", Volume: "500 mL", Bore: "80 mm", Height: "110 mm"})
	p.do("container", err)
	_, err = p.farm.AddCulture(p.ctx, app.NewCulture{Name: "Slant", Form: "slant", Species: "Cordyceps militaris", Strain: "S1", Made: "today"})
	p.do("slant", err)
}

// cultureOf is the culture that jars get on a day.
func cultureOf(day int) string { return fmt.Sprintf("LC-%d", day/cultureEvery+1) }

// live is one day of the farm: batches are begun, then the shelves are walked.
func (p *planting) live(day int) {
	if day%cultureEvery == 0 {
		_, err := p.farm.AddCulture(p.ctx, app.NewCulture{Name: cultureOf(day), Form: "LC", Parent: "Slant", Made: "today", Volume: "20 L"})
		p.do("culture", err)
		_, _, err = p.farm.AddLot(p.ctx, p.act(), app.NewLot{Ingredient: grains[day/cultureEvery%len(grains)], Supplier: "mill", Bought: "400 kg", Price: "480 EUR"})
		p.do("lot", err)
	}
	for float64(p.batches) < batchesPerDay*float64(day+1) && p.err == nil {
		p.begin(day)
	}
	p.at = p.at.Add(8 * time.Hour)
	p.walk()
}
