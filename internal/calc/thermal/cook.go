package thermal

import (
	"errors"
	"slices"
	"sync"

	"pinset/internal/calc/steam"
	"pinset/internal/figure"
	"pinset/internal/units"
)

// CookInput asks what the core of a vessel goes through in a cook. Give the
// way of heat either as u_w_m2k or as wall_mm, wall_w_mk, film_w_m2k and lid;
// with neither, the material of the container stands in.
type CookInput struct {
	AltitudeM         *float64 `json:"altitude_m" jsonschema:"height above the sea, -500 to 5500 m"`
	GaugePsi          float64  `json:"gauge_psi" jsonschema:"pressure that the gauge shows during the hold"`
	GaugeReadsHighPsi float64  `json:"gauge_reads_high_psi,omitempty" jsonschema:"how much the gauge shows too much, below 0 if too little; 0 if left out"`
	RatedPsi          *float64 `json:"rated_psi,omitempty" jsonschema:"pressure on the pot's nameplate; left out, nothing is checked against it"`
	GaugeDoubtPsi     float64  `json:"gauge_doubt_psi,omitempty" jsonschema:"how far the gauge may be off either way, 0 to 3 psi; none if left out"`
	AirFraction       float64  `json:"air_fraction,omitempty" jsonschema:"share of the first air still in the pot, 0 to 1; none if left out"`

	ComeUpMin float64  `json:"come_up_min" jsonschema:"minutes from heat on to pressure, 0 to 600"`
	HoldMin   float64  `json:"hold_min" jsonschema:"minutes at pressure, above 0 to 1440"`
	StartC    *float64 `json:"start_c,omitempty" jsonschema:"temperature in the middle of the load at the start, 1 to 95 °C; 10, 20 and 30 for low, best and high if left out"`
	Cool      string   `json:"cool" jsonschema:"how the pot comes down: left closed, or vented, which is credited no kill"`
	CoolMin   *float64 `json:"cool_min,omitempty" jsonschema:"minutes from heat off to opening; 45 if natural, 5 if fast, when left out"`
	CoolEndC  *float64 `json:"cool_end_c,omitempty" jsonschema:"temperature in the pot at opening; 97 °C or 3 K below boiling if left out"`
	RoomC     *float64 `json:"room_c,omitempty" jsonschema:"temperature of the room; 22 °C if left out"`

	Container Container `json:"container" jsonschema:"the vessel that is cooked"`
	Substrate Substrate `json:"substrate" jsonschema:"what the vessel holds"`
	UWM2K     *Faces    `json:"u_w_m2k,omitempty" jsonschema:"coefficients from steam to fill at each face; left out, they come from wall, film and lid"`
	WallMM    *float64  `json:"wall_mm,omitempty" jsonschema:"thickness of the wall; left out, the usual one of the material"`
	WallWMK   *float64  `json:"wall_w_mk,omitempty" jsonschema:"heat conductivity of the wall; left out, that of the material"`
	FilmWM2K  *float64  `json:"film_w_m2k,omitempty" jsonschema:"steam film on the wall; left out, the usual one of condensing steam"`
	Lid       string    `json:"lid,omitempty" jsonschema:"how steam meets the top; vented if left out"`
	Mode      string    `json:"mode,omitempty" jsonschema:"how the fill takes heat; a solid cake if left out"`

	TargetF0Min *float64 `json:"target_f0_min,omitempty" jsonschema:"minutes at 121.1 °C that the core is to get, 0.1 to 100; 15 if left out"`

	Record *ChamberRecord `json:"record,omitempty" jsonschema:"the chamber as it was logged, in the place of come-up, hold and cooling"`
}

// ColdSpot is where the least lethality was earned.
type ColdSpot struct {
	RMM float64 `json:"r_mm"` // from the centre line
	ZMM float64 `json:"z_mm"` // above the base of the substrate
}

// CookRun is one run of the model.
type CookRun struct {
	F0HeatOffMin float64  `json:"f0_heat_off_min"`
	F0OpenedMin  float64  `json:"f0_opened_min"` // up to the opening of the pot; fast: as at heat-off
	F0TotalMin   float64  `json:"f0_total_min"`  // until all is cold; fast: as at heat-off
	PeakC        float64  `json:"peak_c"`        // of the cold spot
	ColdSpot     ColdSpot `json:"cold_spot"`
}

// CookCore is the three runs: low is the slowest heating that is likely.
type CookCore struct {
	Low  CookRun `json:"low"`
	Best CookRun `json:"best"`
	High CookRun `json:"high"`
}

// Band is a figure with its range, ordered by number. A side that can not be
// said is null.
type Band struct {
	Low  *float64 `json:"low"`
	Best *float64 `json:"best"`
	High *float64 `json:"high"`
}

// CookMoment is one row of the heat picture.
type CookMoment struct {
	Min      float64 `json:"min"` // from the beginning of the come-up
	ChamberC float64 `json:"chamber_c"`
	LowC     float64 `json:"low_c"`
	BestC    float64 `json:"best_c"`
	HighC    float64 `json:"high_c"`
	LowF0    float64 `json:"low_f0_min"`
	BestF0   float64 `json:"best_f0_min"`
	HighF0   float64 `json:"high_f0_min"`
}

// CookResult is what the model says of a cook.
type CookResult struct {
	ChamberC            float64      `json:"chamber_c"`
	Core                CookCore     `json:"core"`
	TargetF0Min         float64      `json:"target_f0_min"`
	HoldForTargetMin    Band         `json:"hold_for_target_min"`    // nothing of the cooling counted
	HoldWithCooldownMin *float64     `json:"hold_with_cooldown_min"` // best run; null when cooling fast
	HoursTo30C          *float64     `json:"hours_to_30c"`           // in air after the opening, best run
	HoursTo30CBand      Band         `json:"hours_to_30c_band"`      // with 12, 10 and 8 W/m2K of still air
	HoursTo30CHeatOff   *float64     `json:"hours_to_30c_from_heat_off"`
	Trace               []CookMoment `json:"trace"`
	Sentence            string       `json:"sentence"`
}

// Cook computes the core of a vessel by transient conduction in a short
// cylinder or a block, three times over: with the slowest, the likeliest and
// the fastest heating that the properties allow.
//
// It is a worst case for a consolidated cake; a loose fill is steamed through.
// A liquid is taken as stirred by its own warmth. It validates no food, and
// its figures count to two digits. Along a record no hold is searched for, and
// of the cooling only what was logged counts.
func Cook(in CookInput) (figure.Answer[CookResult], error) {
	if in.Record != nil {
		return followed(in)
	}
	none := figure.Answer[CookResult]{}
	c, err := newCookTask(in)
	if err != nil {
		return none, err
	}
	runs, err := c.runAll()
	if err != nil {
		return none, err
	}
	r, err := c.result(runs)
	if err != nil {
		return none, err
	}
	return figure.Answer[CookResult]{Result: r, Cautions: c.cautions(r), Working: c.working(r)}, nil
}

// cookTask is a checked CookInput.
type cookTask struct {
	in      CookInput
	pot     pot
	runs    [3]process // low, best, high
	process process    // that of the best run
	jar     jar
	target  float64
	fast    bool
}

// jarInput is the part of the input that hold shares.
func (in CookInput) jarInput() jarInput {
	return jarInput{
		container: in.Container, substrate: in.Substrate, mode: in.Mode,
		wall: wallInput{u: in.UWM2K, wallMM: in.WallMM, wallWMK: in.WallWMK, filmWM2K: in.FilmWM2K, lid: in.Lid},
	}
}

// potAsk is the pot of the cook.
func (in CookInput) potAsk() potAsk {
	return potAsk{
		altitudeM: in.AltitudeM, gaugePsi: in.GaugePsi, readsHighPsi: in.GaugeReadsHighPsi, ratedPsi: in.RatedPsi,
		altitudeKey: "altitude_m", gaugeKey: "gauge_psi",
	}
}

// coreRun is one run and what was read off it.
type coreRun struct {
	figures CookRun
	probe   *probe
	temps   []float64 // of the cold spot
	f0      []float64
	opened  *heating // as it stood when the pot was opened
	hours   *float64 // in air to 30 °C
	watch   *watch   // of the hold, carried on to the target
}

// runAll sends the three vessels through the cook, side by side: they share
// only cells and tables that nobody changes.
func (c *cookTask) runAll() ([3]coreRun, error) {
	var runs [3]coreRun
	var errs [3]error
	var all sync.WaitGroup
	for i, v := range c.jar.vessels {
		all.Go(func() { runs[i], errs[i] = c.run(v, c.runs[i], i == best && !c.fast) })
	}
	all.Wait()
	return runs, errors.Join(errs[:]...)
}

// run sends one vessel through the whole cook.
//
// The hold is run to its end and, on a branch, on to the target.
func (c *cookTask) run(v vessel, p process, keep bool) (coreRun, error) {
	h := newHeating(v, p)
	if err := h.comeUp(p); err != nil {
		return coreRun{}, err
	}
	r := coreRun{probe: h.probe, watch: newWatch(h, c.target, keep)}
	if err := h.hold(p, p.hold, func() bool { r.watch.see(); return true }); err != nil {
		return r, err
	}
	r.watch.h = h.branch()
	if err := r.watch.until(p, longestHold-p.hold); err != nil {
		return r, err
	}
	q, heatOff := h.probe.coldest(), len(h.probe.minute)-1
	if err := h.coolInPot(p); err != nil {
		return r, err
	}
	opened := len(h.probe.minute) - 1
	r.opened = h.onTheBench(v.air)
	until := 30.0
	if p.room >= until-0.5 {
		until = 90 // it never gets there; the lethality is all in
	}
	minutes, ok, err := h.coolInAir(p, until)
	if err != nil {
		return r, err
	}
	if ok && until == 30 {
		hours := minutes / 60
		r.hours = &hours
	}
	c.read(&r, q, heatOff, opened)
	return r, nil
}

// read takes the figures of a run off its probe, for the spot q: up to
// heat-off, up to the opening and in all.
func (c *cookTask) read(r *coreRun, q spot, heatOff, opened int) {
	r.temps = r.probe.course(q)
	r.f0 = r.probe.lethality(r.temps)
	r.figures = CookRun{
		F0HeatOffMin: r.f0[heatOff], F0OpenedMin: r.f0[opened], F0TotalMin: r.f0[len(r.f0)-1],
		PeakC: hottestOf(r.temps), ColdSpot: ColdSpot{ZMM: q.z * 1000},
	}
	if c.in.jarInput().liquid() {
		r.figures.ColdSpot.ZMM = coldestInBottle * c.in.Container.FillMM
	}
	if c.fast {
		r.figures.F0OpenedMin, r.figures.F0TotalMin = r.f0[heatOff], r.f0[heatOff]
		r.figures.PeakC = hottestOf(r.temps[:heatOff+1])
	}
}

// result gathers the three runs and, but along a record, the searches.
func (c *cookTask) result(runs [3]coreRun) (CookResult, error) {
	r := CookResult{
		ChamberC: c.process.chamber, TargetF0Min: c.target, HoursTo30C: runs[best].hours,
		Core: CookCore{Low: runs[low].figures, Best: runs[best].figures, High: runs[high].figures},
	}
	order(&r.Core.Low.F0TotalMin, &r.Core.Best.F0TotalMin, &r.Core.High.F0TotalMin)
	order(&r.Core.Low.F0OpenedMin, &r.Core.Best.F0OpenedMin, &r.Core.High.F0OpenedMin)
	order(&r.Core.Low.PeakC, &r.Core.Best.PeakC, &r.Core.High.PeakC)
	if c.in.Record == nil {
		if err := c.searchHold(runs, &r); err != nil {
			return r, err
		}
	}
	if err := c.hours(runs[best], &r); err != nil {
		return r, err
	}
	r.Trace = c.trace(runs)
	r.Sentence = c.sentence(r)
	return r, nil
}

// order sorts three figures by number. More conductivity heats a core faster
// and cools it faster, so that with a long hold the cooling can turn the
// order of the totals round.
func order(a, b, c *float64) {
	v := []float64{*a, *b, *c}
	slices.Sort(v)
	*a, *b, *c = v[0], v[1], v[2]
}

// searchHold reads the holds for the target off the runs.
func (c *cookTask) searchHold(runs [3]coreRun, r *CookResult) error {
	band := []**float64{low: &r.HoldForTargetMin.High, best: &r.HoldForTargetMin.Best, high: &r.HoldForTargetMin.Low}
	for i := range runs {
		if hold, ok := runs[i].watch.hold(c.runs[i]); ok {
			*band[i] = &hold
		}
	}
	if c.fast || r.HoldForTargetMin.Best == nil {
		return nil
	}
	hold, err := runs[best].watch.holdWithCooling(c.process, *r.HoldForTargetMin.Best)
	r.HoldWithCooldownMin = &hold
	return err
}

// hours finds how long the best run cools in more and in less moving air.
func (c *cookTask) hours(run coreRun, r *CookResult) error {
	if run.hours == nil {
		return nil
	}
	fromHeatOff := *run.hours + c.process.cool/60
	r.HoursTo30CHeatOff, r.HoursTo30CBand.Best = &fromHeatOff, run.hours
	band := []**float64{&r.HoursTo30CBand.High, &r.HoursTo30CBand.Low}
	for i, film := range benchFilms {
		minutes, ok, err := run.opened.onTheBench(c.jar.walls[best].air(film)).coolInAir(c.process, 30)
		if err != nil {
			return err
		}
		if ok {
			hours := minutes / 60
			*band[i] = &hours
		}
	}
	return nil
}

// traceRows bounds the rows of a trace.
const traceRows = 240

// trace reads the three runs at even minutes until all are cold.
func (c *cookTask) trace(runs [3]coreRun) []CookMoment {
	end := 0.0
	for _, r := range runs {
		end = max(end, r.probe.minute[len(r.probe.minute)-1])
	}
	every := 1.0
	for _, wide := range []float64{2, 5, 10, 15, 20, 30} {
		if end/every > traceRows {
			every = wide
		}
	}
	out := []CookMoment{}
	for m := 0.0; m <= end; m += every {
		row := CookMoment{Min: m, ChamberC: readAt(runs[best].probe.minute, runs[best].probe.chamber, m)}
		for i, to := range []struct{ c, f *float64 }{{&row.LowC, &row.LowF0}, {&row.BestC, &row.BestF0}, {&row.HighC, &row.HighF0}} {
			*to.c = readAt(runs[i].probe.minute, runs[i].temps, m)
			*to.f = readAt(runs[i].probe.minute, runs[i].f0, m)
		}
		if c.fast && m > c.process.comeUp+c.process.hold {
			row.LowF0, row.BestF0, row.HighF0 = runs[low].figures.F0HeatOffMin, runs[best].figures.F0HeatOffMin, runs[high].figures.F0HeatOffMin
		}
		out = append(out, row)
	}
	return out
}

// readAt reads y(x) at m by straight lines; beyond the end it keeps the last.
func readAt(x, y []float64, m float64) float64 {
	lo, hi := 0, len(x)-1
	if m >= x[hi] {
		return y[hi]
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; x[mid] <= m {
			lo = mid
		} else {
			hi = mid
		}
	}
	if x[hi] == x[lo] {
		return y[lo]
	}
	return y[lo] + (y[hi]-y[lo])*(m-x[lo])/(x[hi]-x[lo])
}

// chamberTemp is the temperature of the pot with its trapped air.
func chamberTemp(p pot, airFraction float64) (units.Celsius, error) {
	if airFraction == 0 {
		return p.temp, nil
	}
	t, err := steam.TrappedAirTemp(p.ambient, p.gauge, units.Fraction(airFraction))
	if errors.Is(err, steam.ErrRange) {
		return 0, figure.Faultf("air_fraction", "give the share of the first air still in, 0 to 1; 0 after venting for 10 min",
			"an air fraction of %g leaves no steam", airFraction)
	}
	return t, err
}
