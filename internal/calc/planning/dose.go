package planning

import (
	"fmt"
	"math"
	"time"

	"pinset/internal/figure"
)

// Limits of what a dose is asked about. They are far outside any lab, and
// keep a slip of the pen from being computed with.
const (
	maxLCML   = 1e6
	maxDoseML = 1e4
	maxJars   = 1_000_000
)

// day is how days are written.
const day = time.DateOnly

// DoseInput asks how far a liquid culture (LC) goes.
type DoseInput struct {
	LCML       float64  `json:"lc_ml" jsonschema:"what the vessel holds now, mL"`
	KeepML     float64  `json:"keep_ml,omitempty" jsonschema:"kept back to expand from, mL"`
	LossPct    float64  `json:"loss_pct,omitempty" jsonschema:"share of what is drawn that reaches no jar: left in syringes, tried on plates; 0 to 90 %"`
	PerJarML   float64  `json:"per_jar_ml" jsonschema:"dose of one jar, mL"`
	Jars       int      `json:"jars" jsonschema:"jars to inoculate"`
	Generation *int     `json:"generation,omitempty" jsonschema:"transfers since the master, 0 for the master itself"`
	DryGPerJar *float64 `json:"dry_g_per_jar,omitempty" jsonschema:"dry matter in one jar, g"`
	NeededOn   string   `json:"needed_on,omitempty" jsonschema:"day the LC is used, as 2026-09-30"`
	ReadyDays  *int     `json:"ready_days,omitempty" jsonschema:"days from transfer until an LC is ready; 21 if not said"`
	VesselML   *float64 `json:"vessel_ml,omitempty" jsonschema:"volume of the vessel that a fresh LC is grown in, mL"`
}

// DoseResult is how far it goes. Volumes are mL.
type DoseResult struct {
	JarsPossible    int      `json:"jars_possible"`
	Short           int      `json:"short"`          // jars that would go without
	NeededML        float64  `json:"needed_ml"`      // drawn for all the jars, loss included; what is kept comes on top
	MaxPerJarML     float64  `json:"max_per_jar_ml"` // if all the jars share what may be drawn
	LeftML          float64  `json:"left_ml"`        // in the vessel after the jars that it serves
	ChildGeneration *int     `json:"child_generation"`
	MLPerKgDry      *float64 `json:"ml_per_kg_dry"`
	TransferBy      *string  `json:"transfer_by"`      // day an LC must be begun to be ready on the day needed
	Vessels         *int     `json:"vessels"`          // that hold what is needed and kept, filled as far as is safe
	GrownML         *float64 `json:"grown_in_them_ml"` // what those vessels hold
	FillAtMostML    *float64 `json:"fill_at_most_ml"`  // of one vessel
}

// Defaults and bounds of the trade.
const (
	usualReadyDays = 21   // common practice 14 to 21 days, no source; the later is the safe one to plan by
	fillShare      = 0.60 // of a vessel, so that it can be stirred and breathes; common practice, no source
)

// Dose says how many jars a liquid culture serves, what all of them need,
// and when the next one must be begun.
//
// Counting: what may be drawn is lc - keep; of what is drawn, loss reaches no
// jar. Errors are figure.Faults for volumes below 0 or beyond a million mL,
// a dose of 0, a loss of 90 % or more, and days that are not days.
func Dose(in DoseInput) (figure.Answer[DoseResult], error) {
	none := figure.Answer[DoseResult]{}
	if err := in.check(); err != nil {
		return none, err
	}
	arrives := 1 - in.LossPct/100
	usable := max(in.LCML-in.KeepML, 0) * arrives
	r := DoseResult{
		JarsPossible: whole(usable / in.PerJarML),
		NeededML:     float64(in.Jars) * in.PerJarML / arrives,
		MaxPerJarML:  usable / float64(in.Jars),
	}
	served := min(in.Jars, r.JarsPossible)
	r.Short = in.Jars - served
	r.LeftML = in.LCML - float64(served)*in.PerJarML/arrives
	if in.Generation != nil {
		child := *in.Generation + 1
		r.ChildGeneration = &child
	}
	if in.DryGPerJar != nil {
		perKg := in.PerJarML / (*in.DryGPerJar / 1000)
		r.MLPerKgDry = &perKg
	}
	if err := in.begin(&r); err != nil {
		return none, err
	}
	in.vessels(&r)
	return figure.Answer[DoseResult]{Result: r, Cautions: in.cautions(r), Working: in.working(r)}, nil
}

// whole rounds down, forgiving the last digits of binary fractions: 600 mL
// less 10 % of loss holds 180 doses of 3 mL, not 179.
func whole(x float64) int { return int(math.Floor(x + 1e-9*max(x, 1))) }

// check returns a Fault at the first key that can not be counted with.
func (in DoseInput) check() error {
	type bound struct {
		key       string
		value     float64
		low, high float64
		unit      string
	}
	bounds := []bound{
		{"lc_ml", in.LCML, 0, maxLCML, " mL"},
		{"keep_ml", in.KeepML, 0, maxLCML, " mL"},
		{"loss_pct", in.LossPct, 0, 90, " %"},
		{"per_jar_ml", in.PerJarML, 0.001, maxDoseML, " mL"},
		{"jars", float64(in.Jars), 1, maxJars, ""},
	}
	if in.Generation != nil {
		bounds = append(bounds, bound{"generation", float64(*in.Generation), 0, 1000, ""})
	}
	if in.DryGPerJar != nil {
		bounds = append(bounds, bound{"dry_g_per_jar", *in.DryGPerJar, 0.1, 1e5, " g"})
	}
	if in.ReadyDays != nil {
		bounds = append(bounds, bound{"ready_days", float64(*in.ReadyDays), 1, 365, " days"})
	}
	if in.VesselML != nil {
		bounds = append(bounds, bound{"vessel_ml", *in.VesselML, 1, maxLCML, " mL"})
	}
	for _, b := range bounds {
		if !(b.value >= b.low && b.value <= b.high) { // so that NaN fails
			return figure.Faultf(b.key, fmt.Sprintf("give %g to %g%s", b.low, b.high, b.unit), "%g%s can not be counted with", b.value, b.unit)
		}
	}
	return nil
}

// begin sets the day that a fresh LC must be begun.
func (in DoseInput) begin(r *DoseResult) error {
	if in.NeededOn == "" {
		return nil
	}
	needed, err := time.Parse(day, in.NeededOn)
	if err != nil {
		return figure.Faultf("needed_on", "write the day as 2026-09-30", "%q is not a day", in.NeededOn)
	}
	by := needed.AddDate(0, 0, -in.readyDays()).Format(day)
	r.TransferBy = &by
	return nil
}

func (in DoseInput) readyDays() int {
	if in.ReadyDays != nil {
		return *in.ReadyDays
	}
	return usualReadyDays
}

// vessels sets how many vessels a fresh LC for all the jars takes.
func (in DoseInput) vessels(r *DoseResult) {
	if in.VesselML == nil {
		return
	}
	fill := fillShare * *in.VesselML
	n := max(int(math.Ceil((r.NeededML+in.KeepML)/fill-1e-9)), 1)
	grown := float64(n) * fill
	r.Vessels, r.GrownML, r.FillAtMostML = &n, &grown, &fill
}

// Doses outside these are asked about. They span what growers report for
// grain, from 1 mL/kg in trays to 179 mL/kg in small jars; no source says
// which is right.
const (
	thinMLPerKg  = 1
	heavyMLPerKg = 200
)

// Transfers from the master before a caution. Ten successive transfers made
// lines degenerate, and three already lowered a constituent in published
// work on C. militaris; where between is common practice, no source.
const (
	warnGeneration = 3
	stopGeneration = 5
)

func (in DoseInput) cautions(r DoseResult) []figure.Caution {
	out := []figure.Caution{}
	add := func(w figure.Weight, code, title, text string, args ...any) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: fmt.Sprintf(text, args...), Weight: w})
	}
	if in.KeepML > in.LCML {
		add(figure.Care, "keep_exceeds_lc", "More kept than there is", "%g mL are to be kept of %g mL: nothing may be drawn. Keep less, or expand first.", in.KeepML, in.LCML)
	}
	if r.Short > 0 {
		add(figure.Stop, "lc_short", "The LC does not reach", "%s go without. Give at most %g mL a jar, inoculate fewer, or expand first.", figure.Of(r.Short, in.Jars, "jar", "would", "would"), math.Floor(100*r.MaxPerJarML)/100)
	}
	if in.KeepML == 0 {
		add(figure.Note, "nothing_kept", "Nothing kept", "Keep a few mL to expand from, or be sure that the line stands elsewhere.")
	}
	if p := r.MLPerKgDry; p != nil && !(*p >= thinMLPerKg && *p <= heavyMLPerKg) {
		add(figure.Care, "dose_unusual", "An unusual dose", "%.3g mL per kg dry is outside the %d to %d that growers report. Check the mL and the g of one jar.", *p, thinMLPerKg, heavyMLPerKg)
	}
	if g := r.ChildGeneration; g != nil && *g >= warnGeneration {
		weight := figure.Care
		if *g >= stopGeneration {
			weight = figure.Stop
		}
		add(weight, "many_transfers", "Far from the master", "What is made from it is transfer %d. Lines wear out: go back to an earlier one, and fruit it beside this one.", *g)
	}
	add(figure.Note, "test_first", "Test before use", "An LC that looks clean may not be. Streak it on agar and hold a little in clear broth for 3 to 7 days first (common practice, no source).")
	return out
}

func (in DoseInput) working(r DoseResult) []figure.Step {
	const own = "definition"
	out := []figure.Step{
		{Step: "may be drawn and arrives", Formula: fmt.Sprintf("(%g - %g) × (1 - %g/100)", in.LCML, in.KeepML, in.LossPct), Value: max(in.LCML-in.KeepML, 0) * (1 - in.LossPct/100), Unit: "mL", Source: own},
		{Step: "jars that it serves", Formula: fmt.Sprintf("that / %g, rounded down", in.PerJarML), Value: r.JarsPossible, Unit: "jars", Source: own},
		{Step: "drawn for all the jars", Formula: fmt.Sprintf("%d × %g / (1 - %g/100)", in.Jars, in.PerJarML, in.LossPct), Value: r.NeededML, Unit: "mL", Source: own},
		{Step: "most for each jar", Formula: fmt.Sprintf("what arrives / %d", in.Jars), Value: r.MaxPerJarML, Unit: "mL", Source: own},
	}
	if r.MLPerKgDry != nil {
		out = append(out, figure.Step{Step: "dose per kg dry", Formula: fmt.Sprintf("%g / (%g/1000)", in.PerJarML, *in.DryGPerJar), Value: *r.MLPerKgDry, Unit: "mL per kg dry", Source: own})
	}
	if r.TransferBy != nil {
		out = append(out, figure.Step{Step: "begin the LC by", Formula: fmt.Sprintf("%s less %d days", in.NeededOn, in.readyDays()), Value: *r.TransferBy, Source: "ready after 14 to 21 days: common practice, no source"})
	}
	if r.Vessels != nil {
		out = append(out, figure.Step{Step: "vessels for what is needed and kept", Formula: fmt.Sprintf("(%.4g + %g) / (%g × %g), rounded up", r.NeededML, in.KeepML, fillShare, *in.VesselML), Value: *r.Vessels, Unit: "vessels", Source: "filled to 60 % at most: common practice, no source"})
	}
	return out
}
