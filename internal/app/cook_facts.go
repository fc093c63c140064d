package app

import (
	"context"
	"fmt"
	"time"

	"pinset/internal/calc/steam"
	"pinset/internal/calc/substrate"
	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// cookFacts is what the records know of a cook, for the calculators.
type cookFacts struct {
	cook     lab.Cook
	marks    []lab.CookMark // those that hold, by time
	steps    []lab.CookStep // those that hold, by time
	records  []lab.CookRecord
	cooker   *lab.Cooker
	altitude *float64
	target
	fits    []lab.Calibration // that hold, as entered
	vessels []CookVessel
	items   []lab.CookItem
	loadKg  float64  // of all that stands in it
	loadKJK float64  // what warms it by a kelvin
	glassKg float64  // of vessels that were weighed
	startC  *float64 // the load, as the heat went on
	missing []string // what a figure lacks, as sentences
	learned string   // where measured figures of the cooker come from
	ventL   *float64 // learned: boiled off before the hold, nil if it is in the loss of the hold

	shortest waterLoss // learned, where the two could not be told apart

	itemDoubts []figure.Caution
	holds      *holdMemo
}

// CookVessel is one kind of jar in a cook as it is filled.
type CookVessel struct {
	Name   string  `json:"container"`
	Recipe string  `json:"recipe"`
	Jars   int     `json:"jars"`
	BoreMM float64 `json:"bore_mm"`
	FillMM float64 `json:"fill_mm"`
	Lid    lab.Lid `json:"lid"` // "" is not known, and counts as vented

	WeighedG *float64 `json:"weighed_g"` // substrate in one, as the grower weighed it

	container thermal.Container
	substrate thermal.Substrate
	mode      string // of the model, "" for a cake
	lid       string // of the model, "" for a vented one
	of        lab.ContainerID
	measured  bool // the fill was, by the grower
	bag       bool
	kind      vesselKind
	fits      ownFits // from probes in such vessels
}

// String returns "half-litre jar, oats, filled to 31 mm".
func (v CookVessel) String() string {
	return fmt.Sprintf("%s, %s, filled to %.0f mm", v.Name, v.Recipe, v.FillMM)
}

// label tells the kinds of jar of a cook apart: "half-litre jar, oats".
func (v CookVessel) label() string { return v.Name + ", " + v.Recipe }

func (f *Farm) cookFacts(ctx context.Context, r store.Reader, c lab.Cook) (cookFacts, error) {
	facts := cookFacts{cook: c, altitude: c.Altitude, holds: f.holds}
	settings, err := readSettings(ctx, r)
	if err != nil {
		return facts, err
	}
	if facts.altitude == nil {
		facts.altitude = settings.Altitude
	}
	if facts.cooker, err = cookerOf(ctx, r, c.Cooker); err != nil {
		return facts, err
	}
	marks, err := r.CookMarks(ctx, c.ID)
	if err != nil {
		return facts, err
	}
	steps, err := r.CookSteps(ctx, c.ID)
	if err != nil {
		return facts, err
	}
	records, err := r.CookRecords(ctx, c.ID)
	if err != nil {
		return facts, err
	}
	items, err := r.CookItems(ctx, c.ID)
	if err != nil {
		return facts, err
	}
	facts.marks, facts.steps, facts.records, facts.items = lab.CurrentMarks(marks), lab.CurrentSteps(steps), lab.Current(records), lab.Current(items)
	facts.startC = facts.stepValue(lab.StartAt)
	facts.readPlace()
	fits, err := r.Calibrations(ctx)
	if err != nil {
		return facts, err
	}
	facts.fits = lab.Current(fits)
	if err := f.learnCooker(ctx, r, &facts); err != nil {
		return facts, err
	}
	return facts, f.addVessels(ctx, r, &facts)
}

// mostVessels bounds the kinds of jar of one cook that are reckoned.
const mostVessels = 4

// addVessels finds the kinds of jar in the cook and how they are filled.
func (f *Farm) addVessels(ctx context.Context, r store.Reader, facts *cookFacts) error {
	jars, err := r.Jars(ctx, store.JarFilter{Cooks: []lab.CookID{facts.cook.ID}})
	if err != nil {
		return err
	}
	var order []vesselKind
	n := make(map[vesselKind]int)
	for _, j := range jars {
		k := vesselKind{j.Container, j.Recipe}
		if n[k]++; n[k] == 1 {
			order = append(order, k)
		}
	}
	if err := f.addItems(ctx, r, facts); err != nil {
		return err
	}
	if len(order)+len(facts.items) == 0 {
		facts.missing = append(facts.missing, "Nothing is known to stand in this cook, so the lag of a core is not known.")
	}
	if err := f.addJars(ctx, r, facts, order, n); err != nil {
		return err
	}
	stood, err := stackOf(ctx, r, facts.cook)
	if err != nil {
		return err
	}
	if err := facts.putLids(ctx, r); err != nil {
		return err
	}
	facts.stackBags(stood)
	facts.crowd(stood)
	return nil
}

// addJars adds the kinds of jar of batches, n of each.
func (f *Farm) addJars(ctx context.Context, r store.Reader, facts *cookFacts, order []vesselKind, n map[vesselKind]int) error {
	if len(order) == 0 {
		return nil
	}
	stock, err := f.readStock(ctx, r)
	if err != nil {
		return err
	}
	for _, k := range order[:min(len(order), mostVessels)] {
		if k.container == "" || k.recipe == "" {
			facts.missing = append(facts.missing, "Some jars have no container or no recipe, so their cores are not reckoned.")
			continue
		}
		c, err := r.Container(ctx, k.container)
		if err != nil {
			return err
		}
		recipe, err := r.Recipe(ctx, k.recipe)
		if err != nil {
			return err
		}
		v, wetG, why := vesselOf(c, recipe, stock)
		facts.warm(wetG/1000*float64(n[k]), fillHeat)
		if why != "" {
			facts.missing = append(facts.missing, why)
			continue
		}
		v.Jars, v.container.Count, v.kind = n[k], n[k], k
		facts.vessels = append(facts.vessels, v)
	}
	if mm := facts.stepValue(lab.FillAt); mm != nil {
		if err := facts.fillTo(*mm); err != nil {
			return err
		}
	}
	facts.weighFill()
	facts.matchFits()
	return nil
}

// weighFill takes the mass of substrate that was weighed in one jar.
func (c *cookFacts) weighFill() {
	g := c.stepValue(lab.MassAt)
	if g == nil {
		return
	}
	for i := range c.vessels {
		if v := &c.vessels[i]; v.kind.recipe != "" && !v.weigh(*g) {
			c.missing = append(c.missing, fmt.Sprintf("%.4g g do not stand %.0f mm high in %s: measure mass and height of the same jar again. The mass is not counted.", *g, v.FillMM, v.Name))
		}
	}
}

// readPlace takes the air pressure that was measured, else the altitude, and
// turns the target into a pressure there.
func (c *cookFacts) readPlace() {
	if kpa := c.stepValue(lab.Barometer); kpa != nil {
		m := float64(steam.PressureAltitude(units.Pascal(*kpa * 1000)))
		c.altitude = &m
	}
	if c.altitude == nil {
		c.missing = append(c.missing, "Say the altitude of the kitchen in the settings: pressure is not temperature.")
	}
	var why string
	if c.target, why = targetAt(c.cook.Gauge, c.altitude); why != "" {
		c.missing = append(c.missing, why)
	}
	c.capSteam()
}

// stepValue returns the newest value of a step of event e, nil if there is none.
func (c cookFacts) stepValue(e lab.Event) *float64 {
	var out *float64
	for _, s := range c.steps {
		if s.Event == e {
			out = &s.Value
		}
	}
	return out
}

// vesselKind is what makes two jars of a cook alike.
type vesselKind struct {
	container lab.ContainerID
	recipe    lab.RecipeVersionID
}

// leastLiquid is the moisture from which a fill stirs itself as it warms, %.
const leastLiquid = 85

// vesselOf works out how a recipe fills a container, or says why it can not.
func vesselOf(c lab.Container, recipe lab.Recipe, s *stock) (v CookVessel, wetG float64, why string) {
	if recipe.NameOnly() || c.Bore <= 0 {
		return v, 0, fmt.Sprintf("The bore of %s or the mixes of %s are not written down, so the core is not reckoned.", c.Name, recipe.Name)
	}
	shape := "cylinder"
	if c.Kind == "bag" {
		shape = "block"
	}
	answer, err := s.weigh(recipe, weighing{jars: 1, container: &substrate.Container{BoreMM: float64(c.Bore), HeightMM: float64(c.Height), Shape: shape}})
	if err != nil {
		return v, 0, fmt.Sprintf("The recipe %s can not be weighed out, so the core is not reckoned.", recipe.Name)
	}
	per := answer.Result.PerJar
	if per.DepthMM == nil || per.MoisturePct == nil {
		return v, per.WetG, fmt.Sprintf("The depth or the moisture of %s in %s is not known, so the core is not reckoned.", recipe.Name, c.Name)
	}
	if *per.MoisturePct >= leastLiquid {
		v = newVessel(c, recipe.Name, *per.DepthMM, *per.MoisturePct)
		v.stir()
		return v, per.WetG, ""
	}
	return newVessel(c, recipe.Name, *per.DepthMM, *per.MoisturePct), per.WetG, ""
}

// fillTo takes all jars as filled to mm, which the grower measured; 0 leaves
// what the recipes come to.
func (c *cookFacts) fillTo(mm float64) error {
	if mm == 0 {
		return nil
	}
	if !(mm >= 5 && mm <= 600) {
		return lab.Invalidf("fill", "measure the height of the substrate in millimetres", "a fill of %g mm is out of the range 5 to 600 mm", mm)
	}
	for i := range c.vessels {
		v := &c.vessels[i]
		if v.kind.recipe == "" {
			continue // an item says its own fill
		}
		v.FillMM, v.container.FillMM, v.measured = mm, mm, true
		if g := v.WeighedG; g != nil {
			v.weigh(*g)
		}
	}
	return nil
}

// fillDoubt says that a fill was reckoned from masses; nil if it was measured.
func (v *CookVessel) fillDoubt() []figure.Caution {
	if v == nil || v.measured || v.mode == "liquid" {
		return nil
	}
	return []figure.Caution{{
		Code: "fill_reckoned", Title: "The fill is reckoned, not measured", Weight: figure.Care,
		Text: fmt.Sprintf("%.0f mm is what the masses of the recipe come to with little air between. A looser fill stands deeper, and a deeper one heats slower: measure it and reckon with that.", v.FillMM),
	}}
}

// stepAt returns the last time of a step of event e, and whether there is one.
func (c cookFacts) stepAt(e lab.Event) (time.Time, bool) {
	var at time.Time
	found := false
	for _, s := range c.steps {
		if s.Event == e {
			at, found = s.At.Time, true
		}
	}
	return at, found
}

// markAt returns the last time of a mark of event e, and whether there is one.
func (c cookFacts) markAt(e lab.Event) (time.Time, bool) {
	var at time.Time
	found := false
	for _, m := range c.marks {
		if m.Event == e {
			at, found = m.At.Time, true
		}
	}
	return at, found
}

// pouredL returns the litres that were poured in; nil if nothing was logged.
func (c cookFacts) pouredL() *float64 {
	sum, found := 0.0, false
	for _, s := range c.steps {
		if s.Event == lab.WaterIn {
			sum, found = sum+s.Value/1000, true
		}
	}
	if !found {
		return nil
	}
	return &sum
}

// readsHigh is the known error of the gauge.
func (c cookFacts) readsHigh() float64 {
	if c.celsius != nil || c.cooker == nil || c.cooker.Figures.ReadsHighPsi == nil {
		return 0
	}
	return *c.cooker.Figures.ReadsHighPsi
}

func (c cookFacts) rated() *float64 {
	if c.cooker == nil {
		return nil
	}
	return c.cooker.Figures.RatedPsi
}
