package app

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// CookAdvice is what to do before a cook. What can not be said is nil, and
// Missing tells what it lacks.
type CookAdvice struct {
	Cook       int                                 `json:"cook"`
	RuleMin    *float64                            `json:"rule_min"`
	NoLagMin   *float64                            `json:"no_lag_min"`
	CoreMin    *thermal.Band                       `json:"core_equal_min"`
	AdvisedMin *float64                            `json:"advised_min"`
	Vessel     *CookVessel                         `json:"vessel"` // the slowest kind of jar
	Why        string                              `json:"why"`
	Fitted     string                              `json:"fitted"`  // that a probe speaks in the figures, "" if none does
	Learned    string                              `json:"learned"` // where measured figures of the cooker come from
	PouredL    *float64                            `json:"poured_l"`
	PourL      *float64                            `json:"pour_l"` // at least
	VentL      *float64                            `json:"vent_l"` // of pour_l, learned: lost before the hold
	HeatUpMin  *float64                            `json:"heat_up_min"`
	Missing    []string                            `json:"missing"`
	Cautions   []figure.Caution                    `json:"cautions"`
	Hold       *figure.Answer[thermal.HoldResult]  `json:"-"`
	Water      *figure.Answer[thermal.WaterResult] `json:"-"`
}

// AdviceOptions are what the records do not know.
type AdviceOptions struct {
	RuleAltitudeM float64 // where the own rule was made; rules are mostly told for sea level
	FillMM        float64 // height of the substrate, as measured; 0 reckons it from the recipe
}

// CookAdvice reckons the hold and the water of the cook called name from the
// records.
func (f *Farm) CookAdvice(ctx context.Context, name string, o AdviceOptions) (CookAdvice, error) {
	var facts cookFacts
	err := f.store.Read(ctx, func(r store.Reader) error {
		c, err := r.CookByName(ctx, name)
		if err != nil {
			return err
		}
		facts, err = f.cookFacts(ctx, r, c)
		return err
	})
	if err != nil {
		return CookAdvice{}, err
	}
	if err := facts.fillTo(o.FillMM); err != nil {
		return CookAdvice{}, err
	}
	facts.matchFits()
	return facts.advise(o.RuleAltitudeM)
}

func (c cookFacts) advise(ruleAltitude float64) (CookAdvice, error) {
	a := CookAdvice{Cook: c.cook.Number, PouredL: c.pouredL(), Missing: append([]string{}, c.missing...), Cautions: []figure.Caution{manualCaution(c.kind())}}
	if c.cook.Hold == 0 {
		a.Missing = append(a.Missing, "The cook has no rule: say how long it is to hold.")
	} else {
		rule := float64(c.cook.Hold)
		a.RuleMin = &rule
	}
	if name := c.cook.Cooker; name != "" && c.cooker == nil {
		a.Missing = append(a.Missing, fmt.Sprintf("No cooker is called %s: write it down under Cookers. Until then its rating, its gauge and its water are not looked at.", name))
	}
	if err := c.adviseHold(&a, ruleAltitude); err != nil {
		return a, err
	}
	if err := c.adviseWater(&a); err != nil {
		return a, err
	}
	a.Why = a.why(ruleAltitude, c.celsius != nil)
	return a, nil
}

// adviseHold matches the rule for the slowest kind of jar.
func (c cookFacts) adviseHold(a *CookAdvice, ruleAltitude float64) error {
	if a.RuleMin == nil || !c.known || c.altitude == nil {
		return nil
	}
	if c.celsius != nil {
		ruleAltitude = *c.altitude // a temperature is the same at any height
	}
	in := thermal.HoldInput{
		RuleHoldMin: *a.RuleMin, RuleGaugePsi: c.psi, RuleAltitudeM: ruleAltitude,
		GaugePsi: c.psi, AltitudeM: c.altitude, GaugeReadsHighPsi: c.readsHigh(), RatedPsi: c.rated(), StartC: c.startC,
	}
	kinds := []*CookVessel{nil}
	if len(c.vessels) > 0 {
		kinds = nil
		for i := range c.vessels {
			kinds = append(kinds, &c.vessels[i])
		}
	}
	var others []figure.Caution
	for _, v := range kinds {
		in = v.ask(in)
		answer, err := c.holds.hold(in)
		if why, ok := c.faulty(v, err); ok {
			a.Missing = append(a.Missing, why)
			continue
		}
		if err != nil {
			return err
		}
		for _, x := range c.left(v, in, answer) {
			if !slices.Contains(others, x) { // two items may be alike
				others = append(others, x)
			}
		}
		if a.Hold == nil || answer.Result.AdvisedMin > a.Hold.Result.AdvisedMin {
			a.Hold, a.Vessel = &answer, v
		}
	}
	a.Cautions = append(a.Cautions, c.itemDoubts...)
	if a.Hold == nil {
		return nil
	}
	r := a.Hold.Result
	a.NoLagMin, a.CoreMin, a.AdvisedMin = &r.NoLagHoldMin, r.CoreEqualMin, &r.AdvisedMin
	a.Cautions = append(append(append(a.Cautions, c.doubts(c.altitude)...), a.Vessel.fillDoubt()...), others...)
	a.Cautions = append(a.Cautions, c.gaugeDoubts()...)
	a.Cautions = append(a.Cautions, unsaid(a.Cautions, c.ofGauge(a.Hold.Cautions))...)
	a.Fitted = a.Vessel.fitted()
	in = a.Vessel.ask(in)
	if err := c.adviseStart(a, in); err != nil {
		return err
	}
	return c.adviseLid(a, in)
}

// ask turns an ask for a hold to v, nil for none.
func (v *CookVessel) ask(in thermal.HoldInput) thermal.HoldInput {
	in.Container, in.Substrate, in.Mode, in.Lid = nil, nil, "", ""
	if v != nil {
		in.Container, in.Substrate, in.Mode, in.Lid = &v.container, &v.substrate, v.mode, v.lid
	}
	return in
}

// faulty says why what was asked of a kind of jar can not be reckoned, if that
// is a fault of its figures.
func (c cookFacts) faulty(v *CookVessel, err error) (string, bool) {
	var fault *figure.Fault
	if !errors.As(err, &fault) {
		return "", false
	}
	what := "The hold"
	if v != nil {
		what = capitalised(v.String())
	}
	return fmt.Sprintf("%s is not reckoned: %s; %s.", what, fault.What, fault.Mend), true
}

// ofGauge leaves out of list what a pot without a dial, or one that was tested,
// need not be told.
func (c cookFacts) ofGauge(list []figure.Caution) []figure.Caution {
	_, lately := c.lastTested()
	if c.hasDial() && !lately {
		return list
	}
	return slices.DeleteFunc(slices.Clone(list), func(x figure.Caution) bool { return x.Code == "gauge_untested" })
}

// unsaid are the cautions of list whose code said does not hold yet.
func unsaid(said, list []figure.Caution) []figure.Caution {
	return slices.DeleteFunc(slices.Clone(list), func(c figure.Caution) bool { return hasCaution(said, c.Code) })
}

// adviseStart asks how warm the load is where it makes a difference to the
// core.
func (c cookFacts) adviseStart(a *CookAdvice, in thermal.HoldInput) error {
	if c.startC != nil || a.Vessel == nil {
		return nil
	}
	cold := coldStart
	in.StartC = &cold
	less, err := c.lessInCore(a, in)
	if less == nil || err != nil {
		return err
	}
	a.Cautions = append(a.Cautions, startCaution(fmt.Sprintf("%s min of F0 in the core under your own rule instead of %s", digitsBy(*less, math.Floor), digitsBy(*a.Hold.Result.RuleCoreF0Min.Low, math.Floor))))
	return nil
}

// lastTested is the day of the last test of the gauge, and whether it is known
// and not older than a year and a month when the cook is made: dials are to be
// tested every year (USDA, Complete Guide to Home Canning, 2015).
func (c cookFacts) lastTested() (day string, lately bool) {
	if c.cooker == nil {
		return "", false
	}
	day = c.cooker.Figures.GaugeTested
	t, err := time.Parse(time.DateOnly, day)
	return day, err == nil && c.cook.Day.Time.Before(t.AddDate(1, 1, 0))
}

// gaugeDoubt is how far the gauge may be off, psi: what a dial may read wrong
// before it is to be replaced, if nobody tested it of late.
func (c cookFacts) gaugeDoubt() float64 {
	day, lately := c.lastTested()
	if c.kind() == lab.DialCooker && !lately && (day != "" || c.cooker.Figures.ReadsHighPsi == nil) {
		return mostOff
	}
	return 0
}

// gaugeDoubts asks for the test of a gauge; nil where there is none to test.
// A gauge that reads 2 psi too much at 15 psi is 2.2 °C off, at 0.6 of the
// lethality, by the steam formula at sea level.
func (c cookFacts) gaugeDoubts() []figure.Caution {
	if !c.hasDial() {
		return nil
	}
	day, lately := c.lastTested()
	if c.cooker != nil && (lately || day == "" && c.cooker.Figures.ReadsHighPsi != nil) {
		return nil
	}
	title := "When was the gauge tested?"
	if day != "" {
		title = "The gauge was last tested on " + day
	}
	return []figure.Caution{{
		Code: "gauge_untested", Title: title, Weight: figure.Care,
		Text: "A dial that reads 2 psi too much at 15 psi cooks 2.2 °C too cold, at 0.6 of the lethality. Have it tested every year and write the day, and what it reads too much, under Cookers. A rocking weight needs no test: say so there.",
	}}
}

// hasDial reports whether the cooker may have a gauge that has to be tested: a
// weight, a steamer and an autoclave set in °C have none.
func (c cookFacts) hasDial() bool {
	k := c.kind()
	return k != lab.Steamer && k != lab.Autoclave && k != lab.WeightCooker
}

// mostOff is how far a dial may be off before it is to be replaced, psi (Iowa
// State University Extension, 2024).
const mostOff = 2

// Shares of the burner's power that reach the pot: an electric plate, which
// stands for all because more power boils off more water. From memory.
const burnerShare = 0.74

// adviseWater reckons the water for the hold that is planned.
func (c cookFacts) adviseWater(a *CookAdvice) error {
	hold := 0.0
	for _, m := range []*float64{a.RuleMin, a.AdvisedMin} {
		if m != nil {
			hold = max(hold, *m)
		}
	}
	in, ok := c.waterInput(math.Ceil(hold*10) / 10)
	if !ok && (c.kind() == lab.Autoclave || c.altitude == nil || hold <= 0 || c.cooker == nil && c.cook.Cooker != "") {
		return nil // it fills itself, or what is missing is said already
	}
	if !ok {
		a.Missing = append(a.Missing, "Write the cooker down with its measured loss of water per hour, or its sizes, mass and burner: then the water to pour is reckoned.")
		return nil
	}
	vent, shortfall := c.lostBefore(&in)
	in.WaterL = 3
	if a.PouredL != nil {
		in.WaterL = max(*a.PouredL-vent, 0.05)
	}
	answer, err := thermal.Water(in)
	var fault *figure.Fault
	if errors.As(err, &fault) {
		a.Missing = append(a.Missing, fmt.Sprintf("The water is not reckoned: %s; %s.", fault.What, fault.Mend))
		return nil
	}
	if err != nil {
		return err
	}
	pour := answer.Result.NeededL + vent + shortfall
	a.Water, a.PourL, a.HeatUpMin = &answer, &pour, answer.Result.HeatUpMin
	if vent > 0 {
		a.VentL = &vent
	}
	a.Learned = c.learned
	if m := c.cooker.Figures.HeatUpMin; m != nil {
		a.HeatUpMin = (*float64)(m)
	}
	for _, x := range answer.Cautions {
		if a.PouredL == nil && (x.Code == "runs_dry" || x.Code == "thin_water" || x.Code == "shallow") || hasCaution(a.Cautions, x.Code) {
			continue
		}
		a.Cautions = append(a.Cautions, x)
	}
	a.Cautions = slices.DeleteFunc(a.Cautions, func(x figure.Caution) bool { return x.Code == "water" }) // it was reckoned
	if a.PouredL != nil && *a.PouredL < *a.PourL {
		a.Cautions = slices.DeleteFunc(a.Cautions, func(x figure.Caution) bool { return x.Code == "runs_dry" }) // said more exactly
		a.Cautions = append(a.Cautions, figure.Caution{
			Code: "not_enough_water", Title: "Not enough water for this hold", Weight: figure.Stop,
			Text: fmt.Sprintf("%.2f L are in, at least %.2f L are needed for %.0f min with the reserve. Pour more before the lid goes on; never under pressure.", *a.PouredL, *a.PourL, hold),
		})
	}
	return nil
}

// lostBefore is what the cooker was seen to lose before a hold, litres, which
// then is not reckoned again. Where that could not be told apart from the loss
// in the hold, shortfall is what a hold shorter than those seen needs more
// than its share: what the shortest of them lost in all.
func (c cookFacts) lostBefore(in *thermal.WaterInput) (vent, shortfall float64) {
	if c.ventL != nil {
		in.VentMin = 0
		return *c.ventL, 0
	}
	if s := c.shortest; s.hours > in.HoldMin/60 {
		shortfall = max(s.ml-*in.MeasuredLossMlPerH*in.HoldMin/60, 0) / 1000
	}
	return 0, shortfall
}

func hasCaution(list []figure.Caution, code string) bool {
	for _, c := range list {
		if c.Code == code {
			return true
		}
	}
	return false
}

// waterInput is the ask for the water of a hold, and whether the cooker's
// record is enough for one.
func (c cookFacts) waterInput(hold float64) (thermal.WaterInput, bool) {
	in := thermal.WaterInput{LoadKg: c.loadKg, GlassKg: c.glassKg, RoomC: 20, AltitudeM: c.altitude, GaugePsi: c.psi, VentMin: c.ventMin(), HoldMin: hold}
	if c.cooker == nil || hold <= 0 || c.altitude == nil {
		return in, false
	}
	if c.loadKg > 0 {
		heat := max(c.loadKJK/c.loadKg, 1) // steel alone is counted as less of something heavier
		in.LoadKJKgK, in.LoadKg = &heat, c.loadKJK/heat
	}
	f := c.cooker.Figures
	in.MeasuredLossMlPerH, in.RatedPsi = f.LossMlH, f.RatedPsi
	if f.BurnerW != nil && f.MassKg != nil && f.DiameterMM != nil && f.HeightMM != nil {
		share, metal := burnerShare, 0.90 // kJ/kgK, aluminium; from memory
		if f.Steel {
			metal = 0.49
		}
		in.BurnerW, in.Efficiency = f.BurnerW, &share
		in.Pot = &thermal.WaterPot{Kg: *f.MassKg, KJKgK: metal, DiameterMM: *f.DiameterMM, HeightMM: *f.HeightMM}
	}
	return in, in.BurnerW != nil || in.MeasuredLossMlPerH != nil
}

// why says in one line which of the three holds is advised.
func (a CookAdvice) why(ruleAltitude float64, inCelsius bool) string {
	if a.Hold == nil {
		return ""
	}
	r := a.Hold.Result
	if inCelsius {
		return "A rule in °C is the same at any height: the own rule is enough and is never shortened. Shorter or longer, the core lags behind the steam."
	}
	place := "sea level"
	if ruleAltitude != 0 {
		place = units.Metre(ruleAltitude).String()
	}
	at := fmt.Sprintf("The rule is taken as made at %s, where it is %.1f °C; here the pot is %.1f °C", place, r.RuleC, r.PotC)
	switch {
	case r.AdvisedMin <= *a.RuleMin:
		return at + ": the own rule is enough and is never shortened."
	case a.Vessel != nil && r.CoreEqualMin != nil && r.CoreEqualMin.High != nil:
		return fmt.Sprintf("%s, so the core of %s needs longer for the same kill; without its lag it would be %s at most.", at, *a.Vessel, wholeUp(r.NoLagHoldMin))
	}
	return at + ", so the same kill takes longer; the lag of the core is not counted."
}

// wholeUp rounds minutes up: a hold must not shrink on its way to the page.
func wholeUp(minutes float64) string { return fmt.Sprintf("%.0f min", math.Ceil(minutes-1.0/60)) }

// CoreText returns the band of the core-equal hold in words.
func (a CookAdvice) CoreText() string {
	b := a.CoreMin
	switch {
	case b == nil:
		return "not known"
	case b.High == nil || b.Low == nil:
		return "out of reach"
	}
	return fmt.Sprintf("at least %s, up to %s", wholeUp(*b.Low), wholeUp(*b.High))
}
