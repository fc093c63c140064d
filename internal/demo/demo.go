// Package demo plants a year of an invented farm, always the same one, so
// that a newcomer finds every page alive. Nothing in it was grown.
package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"sync"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// Name is what the invented farm is called.
const Name = "Wrenloft"

// seed makes the farm what it is.
const seed = 20260307

// Plant fills an empty farm with the year that ends at now: eight batches,
// three trials (one that tells its arms apart, one that can not, one that
// still runs), a cook that did not hold, a liquid culture that fouled its
// jars, and photos of some jars, which are drawn, if the farm keeps files.
// open returns the farm with the clock and the chance that it is given.
func Plant(ctx context.Context, open func(...app.Option) *app.Farm, now time.Time) error {
	y, m, d := now.UTC().Date()
	p := &planting{
		ctx: ctx, today: time.Date(y, m, d, 8, 0, 0, 0, time.UTC), last: now.UTC(),
		draw: rand.New(rand.NewPCG(seed, 1)),
	}
	drawn := func(stream uint64) app.Option { return app.WithChance(&chance{r: rand.New(rand.NewPCG(seed, stream))}) }
	p.farm, p.camera = open(app.WithClock(p.now), drawn(2)), open(app.WithClock(p.now), drawn(3))
	p.stock()
	for _, grow := range year {
		p.grow(grow)
	}
	p.elsewhere()
	p.do("tour", p.farm.SetTour(ctx, tour))
	return p.err
}

// chance gives codes and seeds from the farm's seed.
type chance struct {
	mu sync.Mutex
	r  *rand.Rand
}

// Read fills b and never fails.
func (c *chance) Read(b []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for i := range b {
		b[i] = byte(c.r.Uint32())
	}
	return len(b), nil
}

// planting is the work of planting, which stops at the first error.
type planting struct {
	ctx    context.Context
	farm   *app.Farm
	camera *app.Farm // the same with a chance of its own: photos change no code of a jar
	today  time.Time // 08:00 on the last day
	last   time.Time // the moment that the year ends
	at     time.Time // the clock
	draw   *rand.Rand
	err    error
}

func (p *planting) now() time.Time { return p.at }

// day sets the clock to the morning that many days before today, and reports
// whether that day has come.
func (p *planting) day(before int) bool {
	p.at = p.today.AddDate(0, 0, -before)
	if p.at.After(p.last) {
		p.at = p.last
	}
	return before >= 0 && p.err == nil
}

func (p *planting) do(what string, err error) {
	if err != nil && p.err == nil {
		p.err = fmt.Errorf("plant the demo farm, %s: %w", what, err)
	}
}

// act signs an entry.
func (p *planting) act() app.Act { return app.Act{By: []string{"IV", "IV", "TO"}[p.draw.IntN(3)]} }

// stock fills the shelves of the lab: ingredients, recipes, containers, cultures.
func (p *planting) stock() {
	p.day(360)
	p.do("settings", p.farm.SaveSettings(p.ctx, app.NewSettings{Name: Name, Zone: "UTC", Altitude: "310 m"}))
	for _, i := range []app.NewIngredient{
		{Name: "oat groats", Moisture: "9.5 %", Note: "25 kg sack, dried three samples at 105 °C"},
		{Name: "millet", Moisture: "10 %"},
		{Name: "malt extract, dry"},
		{Name: "yeast extract"},
	} {
		_, err := p.farm.AddIngredient(p.ctx, i)
		p.do(i.Name, err)
	}
	for _, r := range []app.NewRecipe{
		cake("oat cake", "oat groats", "40 g", "48 mL"),
		cake("millet cake", "millet", "40 g", "48 mL"),
		cake("deep oat cake", "oat groats", "60 g", "72 mL"),
	} {
		_, err := p.farm.AddRecipe(p.ctx, r)
		p.do(r.Name, err)
	}
	_, err := p.farm.AddContainer(p.ctx, app.NewContainer{Name: "half-litre jar", Kind: "jar", Volume: "500 mL", Bore: "80 mm", Height: "110 mm"})
	p.do("container", err)
	p.deliveries()
	_, _, err = p.farm.SaveCooker(p.ctx, app.Act{By: "IV"}, app.NewCooker{
		Name: "tall cooker", Kind: "weight", Rated: "15 psi", Bore: "310 mm", Room: "280 mm", Divider: "3 mm", Holds: "half-litre jar 7 x 2",
		Mass: "9.5 kg", Metal: "aluminium", Burner: "2500", Loss: "420", HeatUp: "31 min",
	})
	p.do("cooker", err)
	p.cultures()
}

// deliveries are what the ingredients cost; all prices are invented.
func (p *planting) deliveries() {
	for _, l := range []app.NewLot{
		{Ingredient: "oat groats", Supplier: "the mill", Bought: "25 kg", Price: "31.50 EUR", Moisture: "9.5 %"},
		{Ingredient: "millet", Supplier: "the mill", Bought: "10 kg", Price: "17.20 EUR", Moisture: "10 %"},
		{Ingredient: "malt extract, dry", Supplier: "a brewer", SupplierCode: "M-114", Bought: "1 kg", Price: "11.80 EUR"},
		{Ingredient: "yeast extract", Bought: "250 g", Price: "14 EUR"},
	} {
		_, _, err := p.farm.AddLot(p.ctx, app.Act{By: "IV"}, l)
		p.do(l.Ingredient, err)
	}
}

// cake is a grain with a malt broth, cooked together in the jar.
func cake(name, grain, grams, broth string) app.NewRecipe {
	return app.NewRecipe{
		Name: name,
		Mixes: []lab.Mix{
			{Name: "grain", Lines: []lab.RecipeLine{{Ingredient: grain, Amount: grams}}},
			{Name: "broth", MakeUpTo: "1 L", Lines: []lab.RecipeLine{{Ingredient: "malt extract, dry", Amount: "15 g"}, {Ingredient: "yeast extract", Amount: "3 g"}}},
		},
		Fills: []lab.Fill{{Mix: "grain", Amount: grams}, {Mix: "broth", Amount: broth}},
		Note:  "Grain and broth at about 1 : 1.2",
	}
}

func (p *planting) cultures() {
	add := func(before int, c app.NewCulture) {
		p.day(before)
		c.Species, c.Strain, c.Made = "Cordyceps militaris", "W1", "today"
		_, err := p.farm.AddCulture(p.ctx, c)
		p.do(c.Name, err)
	}
	keep := func(before int, k app.NewKeeping) {
		p.day(before)
		_, err := p.farm.KeepCulture(p.ctx, app.Act{By: "IV"}, k)
		p.do(k.Culture, err)
	}
	add(355, app.NewCulture{Name: "Slant W1", Form: "slant", Source: "a neighbour", Generation: "0", Note: "Fruited before"})
	keep(355, app.NewKeeping{Culture: "Slant W1", Kept: "stored", Storage: "fridge"})
	add(352, app.NewCulture{Name: "LC-1", Form: "LC", Parent: "Slant W1", Volume: "250 mL"})
	add(310, app.NewCulture{Name: "LC-2", Form: "LC", Parent: "LC-1", Took: "2 mL", Volume: "250 mL"})
	keep(304, app.NewKeeping{Culture: "LC-2", Kept: "tested", Finding: "clean"})
	add(250, app.NewCulture{Name: "LC-3", Form: "LC", Parent: "LC-1", Took: "2 mL", Volume: "250 mL", Note: "Cloudy at the bottom on the second day, used all the same"})
	keep(222, app.NewKeeping{Culture: "LC-3", Kept: "tested", Finding: "dirty", Note: "pink on the plate, streaked too late"})
	keep(221, app.NewKeeping{Culture: "LC-3", Kept: "ended", Note: "cooked and thrown away"})
	add(200, app.NewCulture{Name: "LC-4", Form: "LC", Parent: "Slant W1", Volume: "400 mL"})
	keep(195, app.NewKeeping{Culture: "LC-4", Kept: "tested", Finding: "clean"})
	keep(180, app.NewKeeping{Culture: "LC-4", Kept: "stored", Storage: "fridge"})
	add(60, app.NewCulture{Name: "LC-5", Form: "LC", Parent: "Slant W1", Volume: "400 mL"})
	keep(54, app.NewKeeping{Culture: "LC-5", Kept: "tested", Finding: "clean"})
}
