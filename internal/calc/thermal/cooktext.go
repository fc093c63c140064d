package thermal

import (
	"fmt"

	"pinset/internal/figure"
)

// newCookTask checks the input and cuts the vessels.
func newCookTask(in CookInput) (*cookTask, error) {
	c := &cookTask{in: in, target: 15, fast: in.Cool == "fast"}
	var err error
	if c.pot, err = newPot(in.potAsk()); err != nil {
		return nil, err
	}
	if in.TargetF0Min != nil {
		c.target = *in.TargetF0Min
	}
	if err := c.checkCook(); err != nil {
		return nil, err
	}
	for i, doubt := range [3]float64{low: -in.GaugeDoubtPsi, best: 0, high: in.GaugeDoubtPsi} {
		pot, err := c.pot.shifted(doubt)
		if err != nil {
			return nil, err
		}
		chamber, err := chamberTemp(pot, in.AirFraction)
		if err != nil {
			return nil, err
		}
		if c.runs[i], err = c.newProcess(float64(chamber), usualStart[i]); err != nil {
			return nil, err
		}
	}
	c.process = c.runs[best]
	c.jar, err = newJar(in.jarInput())
	return c, err
}

// slowComeUp is from when on a come-up is called slow, minutes; common
// practice, no source.
const slowComeUp = 75.0

// usualStart is the temperature of a load that nobody measured, °C: from a
// cold cellar, of a room, and as filled warm. Common practice, no source.
var usualStart = [3]float64{low: 10, best: 20, high: 30}

// checkCook checks the numbers of the cook itself.
func (c *cookTask) checkCook() error {
	in := c.in
	for _, f := range []struct {
		field, mend string
		value       *float64
		least, most float64
	}{
		{"come_up_min", "give the minutes from heat-on to pressure", &in.ComeUpMin, 0, 600},
		{"hold_min", "give the minutes at pressure, such as 90", &in.HoldMin, 0.1, 1440},
		{"gauge_doubt_psi", "give how far the gauge may be off, such as 1; beyond 2 psi replace it", &in.GaugeDoubtPsi, 0, 3},
		{"start_c", "give the temperature of the filled jars, such as 20", in.StartC, 1, 95},
		{"cool_min", "give the minutes from heat-off to the opening of the pot", in.CoolMin, 0, 1440},
		{"room_c", "give the temperature of the room in °C", in.RoomC, 1, 50},
		{"target_f0_min", "give minutes at 121.1 °C, such as 15", in.TargetF0Min, 0.1, 100},
	} {
		if f.value != nil && !(*f.value >= f.least && *f.value <= f.most) {
			return figure.Faultf(f.field, f.mend, "%g is outside %g to %g", *f.value, f.least, f.most)
		}
	}
	if in.Cool != "natural" && in.Cool != "fast" {
		return figure.Faultf("cool", "write natural if the pot cools closed, fast if it is vented", "the way of cooling %q is not known", in.Cool)
	}
	return nil
}

// newProcess fills in what was left out.
func (c *cookTask) newProcess(chamber, start float64) (process, error) {
	in := c.in
	or := func(v *float64, other float64) float64 {
		if v != nil {
			return *v
		}
		return other
	}
	p := process{
		start: or(in.StartC, start), chamber: chamber, comeUp: in.ComeUpMin, hold: in.HoldMin,
		room: or(in.RoomC, 22), cool: or(in.CoolMin, 45), coolEnd: or(in.CoolEndC, min(97, float64(c.pot.boiling)-3)),
	}
	if c.fast {
		p.cool = or(in.CoolMin, 5)
	}
	if !(p.start < p.chamber) {
		return p, figure.Faultf("start_c", "give the temperature of the jars before the cook", "the load starts at %g °C, and the pot only gets to %.1f °C", p.start, p.chamber)
	}
	if !(p.coolEnd >= p.room && p.coolEnd <= min(p.chamber, float64(c.pot.boiling)+0.5)) {
		return p, figure.Faultf("cool_end_c", "open a pot only when the pressure is zero; give the chamber at the opening",
			"a pot opened at %.1f °C is outside the room at %g °C and boiling at %.1f °C", p.coolEnd, p.room, float64(c.pot.boiling))
	}
	return p, nil
}

// sentence is the whole in words, two digits.
func (c *cookTask) sentence(r CookResult) string {
	low, best, high := r.Core.Low.F0HeatOffMin, r.Core.Best.F0HeatOffMin, r.Core.High.F0HeatOffMin
	s := fmt.Sprintf("At heat-off the coldest spot has earned at least %s min of F0, most likely %s, up to %s.", atLeast(low), two(best), upTo(high))
	switch {
	case high < hardly:
		s = "At heat-off the coldest spot has earned next to nothing: less than 0.01 min of F0."
	case low < hardly:
		s = fmt.Sprintf("At heat-off the coldest spot has earned up to %s min of F0, most likely %s, and perhaps next to nothing.", upTo(high), two(best))
	}
	switch {
	case c.fast:
	case c.in.Record != nil:
		s += fmt.Sprintf(" With the cooling that was logged it is at least %s, most likely %s.", two(r.Core.Low.F0TotalMin), two(r.Core.Best.F0TotalMin))
	default:
		s += fmt.Sprintf(" Cooling in the closed pot may bring it to %s.", two(r.Core.Best.F0TotalMin))
	}
	if r.HoldForTargetMin.High != nil {
		s += fmt.Sprintf(" For F0 %g hold up to %s min.", c.target, wholeUp(*r.HoldForTargetMin.High))
	}
	return s
}

// cautions says what the figures rest on and what can go wrong.
func (c *cookTask) cautions(r CookResult) []figure.Caution {
	out := potCautions(c.in.potAsk(), c.pot)
	out = append(out, waterFor(c.in.HoldMin)...)
	out = append(out, c.heatCautions(r)...)
	out = append(out, c.coolCautions(r)...)
	out = append(out, vesselCautions(c.in.jarInput(), c.fast)...)
	if !c.in.jarInput().liquid() {
		out = append(out, dryPockets())
	}
	return append(out, manual(), figure.Caution{
		Code: "model", Title: "A model, not a measurement", Weight: figure.Note,
		Text: "Properties scatter by 10 %, a loose fill may heat up to three times as fast, and spores differ tenfold. " +
			"Count two digits, and let a logger in the core correct it.",
	}, estimate())
}

// heatCautions speaks of the heating.
func (c *cookTask) heatCautions(r CookResult) []figure.Caution {
	out := []figure.Caution{}
	add := func(code, title, text string, w figure.Weight) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
	}
	if c.in.AirFraction > 0 {
		add("trapped_air", "Air in the chamber", fmt.Sprintf("The chamber is %.1f °C where air-free steam would be %.1f °C. Vent for 10 min.", r.ChamberC, float64(c.pot.temp)), figure.Stop)
	}
	if r.Core.Low.F0HeatOffMin < c.target {
		add("core_lags", "The core lags behind the gauge", fmt.Sprintf("The slow run has earned %s min of F0 at heat-off, the target is %g. The time at pressure is not the time in the core.",
			atLeast(r.Core.Low.F0HeatOffMin), c.target), figure.Care)
	}
	switch {
	case c.in.Record != nil: // it is over: nothing was searched for
	case r.HoldForTargetMin.High == nil:
		add("target_out_of_reach", "The target is out of reach", "A day at this pressure does not do it in the slow run. Use smaller jars or a higher pressure that the vessel is made for.", figure.Stop)
	case *r.HoldForTargetMin.High > 300:
		add("too_long", "A very long hold", "More than 5 h browns the substrate and needs much water. Use smaller jars.", figure.Care)
	}
	if r.ChamberC < 118 {
		out = append(out, below118(1))
	}
	if c.in.StartC == nil {
		add("start_assumed", "The load's own temperature is assumed", fmt.Sprintf("The band begins with %g, %g and %g °C, for none was given. Measure the middle of a filled jar: one from a cold room lags behind by minutes.",
			usualStart[low], usualStart[best], usualStart[high]), figure.Note)
	}
	if c.in.ComeUpMin > slowComeUp {
		add("slow_start", "A slow start", fmt.Sprintf("%g min to pressure, and before it a warm soak of more than 12 to 24 h, let bacteria multiply and form spores: the load is dirtier than the target reckons with. Use a stronger burner or fewer jars.", c.in.ComeUpMin), figure.Care)
	}
	if c.in.HoldMin > 150 && r.ChamberC > 115 {
		add("long_heat", "A long time hot", "More than 2.5 h brown sugars and slow growth at the wall: more is not always better.", figure.Care)
	}
	if c.in.TargetF0Min == nil {
		add("target_assumed", "F0 15 is the target", "No target was given. 15 min is the usual aim for grain, 8 for a load that is nearly clean; both are conventions.", figure.Note)
	}
	return out
}

// coolCautions speaks of the cooling and of inoculating.
func (c *cookTask) coolCautions(r CookResult) []figure.Caution {
	out := []figure.Caution{}
	add := func(code, title, text string, w figure.Weight) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
	}
	if c.fast {
		add("fast_cooling", "Fast cooling is credited nothing", "Venting a hot pot makes jars boil over, wets filters, sucks in air and can break glass. Let the pressure fall by itself.", figure.Care)
	} else if r.Core.Best.F0TotalMin > 1.3*r.Core.Best.F0HeatOffMin {
		add("cooling_counts", "Much is earned after heat-off", fmt.Sprintf("%s of %s min come while the pot cools. They count only if it stays closed until the pressure is zero.",
			two(r.Core.Best.F0TotalMin-r.Core.Best.F0HeatOffMin), two(r.Core.Best.F0TotalMin)), figure.Care)
	}
	add("opening", "Opening", "Open only at zero pressure and 10 min later, the lid away from the face: the core may still be above boiling and boil over. "+
		"No cold water, no cold bench: hot glass cracks at a step of about 40 K.", figure.Care)
	if r.HoursTo30C == nil {
		add("room_too_warm", "The room is too warm", "The core does not fall below 30 °C in this room within two days.", figure.Stop)
	} else {
		add("inoculate_cold", "Inoculate by the core", "Only below 30 °C in the core, for tender species below 25 °C. Left in the closed pot a jar cools two to four times slower: overnight is the rule.", figure.Note)
	}
	return out
}

// vesselCautions speaks of the jar, its lid and its filling.
func vesselCautions(in jarInput, fast bool) []figure.Caution {
	out := []figure.Caution{}
	add := func(code, title, text string, w figure.Weight) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
	}
	switch material := in.container.material(); {
	case material == "polypropylene" || in.wall.wallWMK != nil && *in.wall.wallWMK < 0.5:
		add("plastic", "Plastic softens", "Only polypropylene (code 5) marked autoclavable, off the pot base, lids loose, nothing stacked on it: it bends under load from about 107 °C.", figure.Care)
	case material == "glass" || material == "borosilicate":
		add("glass", "Glass cracks", "Use jars made for canning, none chipped or cracked, on a rack. Hot glass breaks in cold water, on a cold bench or in a draught: 40 K at once are enough for common glass.", figure.Note)
	}
	if in.wall.lid == "tight" {
		add("tight_lid", "A tight lid", "Shut-in air pushes about 1.3 bar above the pot at 121 °C and sucks in unclean air later. Leave lids loose, or use a filter with foil over it.", figure.Stop)
	}
	if in.wall.u == nil {
		add("wall_assumed", "The way of heat is partly assumed", "The film below the jar and the heat through the headspace have no measured source; the range covers them.", figure.Note)
	}
	if in.mode == "loose" {
		add("loose", "A loose fill", "Steam percolates through a loose, wet, vented fill and heats it faster than this says; how much only a logger tells. The low figure is that of a cake.", figure.Note)
	}
	if in.liquid() {
		out = append(out, liquidCautions(in, fast)...)
	}
	if n := in.container.Stacked; n > 1 {
		add("stacked", "Stacked bags heat as one", fmt.Sprintf("%d of %g mm on each other are reckoned as one of %g mm, for no steam gets between. Set them apart on racks and leave stacked out: the core is there far sooner.",
			n, in.container.FillMM, in.container.height()), figure.Stop)
	}
	if h := in.container.HeadspaceMM; h != nil && *h < leastHeadspace && !in.liquid() {
		add("no_headspace", "Hardly any headspace", fmt.Sprintf("%g mm above the fill: grain swells into the lid, and starch foams through the filter. Leave %g mm or more.", *h, leastHeadspace), figure.Care)
	}
	add("do_not_overload", "Each vessel is taken as standing free", "Jars or bags that touch share a side and heat as one that is wider. Leave a finger's width all round, and keep the vent pipe free of grain and foam.", figure.Note)
	return out
}

// leastHeadspace is what a swelling grain wants, mm; common practice, no
// source.
const leastHeadspace = 15.0

// working shows the model and its figures.
func (c *cookTask) working(r CookResult) []figure.Step {
	v := c.jar.vessels[best]
	return []figure.Step{
		{Step: "chamber while holding", Formula: "T_sat(p0 + gauge), trapped air counted", Value: r.ChamberC, Unit: "°C", Source: "IAPWS R7-97(2012), eq. 31; ISO 2533:1975"},
		c.contentsStep(v),
		{Step: "side", Formula: c.in.jarInput().wall.describe(), Value: v.steam.Side, Unit: "W/m2K", Source: "resistances in a row"},
		{Step: "top", Formula: c.in.jarInput().wall.describe(), Value: v.steam.Top, Unit: "W/m2K", Source: "resistances in a row"},
		{Step: "base", Formula: c.in.jarInput().wall.describe(), Value: v.steam.Base, Unit: "W/m2K", Source: "resistances in a row"},
		{Step: "cells", Formula: "finite volumes, heat conserved", Value: v.body.n, Unit: "", Source: "ROS2 with factorisation by axis, SIAM J. Sci. Comput. 20 (1999) 1456"},
		{Step: "F0 of the cold spot at heat-off", Formula: "integral of 10^((T - 121.1)/10) dt", Value: r.Core.Best.F0HeatOffMin, Unit: "min", Source: "exact on straight lines"},
		{Step: "hold for the target", Formula: fmt.Sprintf("F0 of the cold spot = %g min, cooling not counted", c.target), Value: r.HoldForTargetMin.Best, Unit: "min", Source: "root of the model"},
		{Step: "hours in air to 30 °C", Formula: fmt.Sprintf("still air of %g °C, 10 W/m2K", c.process.room), Value: r.HoursTo30C, Unit: "h", Source: "Churchill and Chu with radiation"},
	}
}

// contentsStep shows what the contents are taken for.
func (c *cookTask) contentsStep(v vessel) figure.Step {
	const source = "Choi and Okos (1986), ASHRAE Refrigeration (2006)"
	if c.in.jarInput().liquid() {
		return figure.Step{
			Step: "liquid", Formula: fmt.Sprintf("stirred, a film of %g W/m2K inside the wall", filmInside[best]),
			Value: v.medium.capacity[0] / 1e6, Unit: "MJ/m3K, cold", Source: source + "; free convection 50 to 1000 W/m2K, textbook",
		}
	}
	return figure.Step{Step: "substrate", Formula: c.in.Substrate.describe(), Value: v.medium.conduct[0], Unit: "W/mK, cold", Source: source}
}
