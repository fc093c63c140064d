package thermal

import (
	"fmt"
	"math"

	"pinset/internal/calc/steam"
	"pinset/internal/figure"
	"pinset/internal/units"
)

// LethalityInput is a temperature record.
type LethalityInput struct {
	TimesMin   []float64 `json:"times_min" jsonschema:"minutes of the readings, rising, two or more"`
	Celsius    []float64 `json:"celsius" jsonschema:"temperatures, one for each time, -20 to 150 °C"`
	ReferenceC *float64  `json:"reference_c,omitempty" jsonschema:"temperature whose minutes are counted, 40 to 150 °C; 121.1 if left out"`
	ZC         *float64  `json:"z_c,omitempty" jsonschema:"kelvins for ten times the kill rate, 2 to 60; 10 if left out"`
	StartCount *float64  `json:"start_count,omitempty" jsonschema:"spores at the start, above 0; left out, no survivors are told"`
	DMin       *float64  `json:"d_min,omitempty" jsonschema:"minutes at the reference that kill nine of ten, above 0; left out, no log reduction is told"`
	EqualAtC   *float64  `json:"equal_at_c,omitempty" jsonschema:"temperature at which an equal hold is wanted, 40 to 150 °C"`
}

// LethalityResult is what the record is worth.
type LethalityResult struct {
	FMin          float64   `json:"f_min"`           // exact on straight lines
	FTrapezoidMin float64   `json:"f_trapezoid_min"` // for comparison with spreadsheets
	CumulativeMin []float64 `json:"cumulative_min"`
	PeakC         float64   `json:"peak_c"`
	Below118Share *float64  `json:"below_118_share"` // of FMin; null if FMin is 0
	LogReduction  *float64  `json:"log_reduction"`   // F/D, with d_min
	Survivors     *float64  `json:"survivors"`       // with start_count and d_min
	EqualHoldMin  *float64  `json:"equal_hold_min"`  // with equal_at_c
	CookValueMin  float64   `json:"cook_value_min"`  // minutes at 100 °C, z 33 K: how much the load is cooked
	Sentence      string    `json:"sentence"`
}

// Lethality returns the F of a temperature record for any reference and z,
// by exact integration of straight lines between the readings.
func Lethality(in LethalityInput) (figure.Answer[LethalityResult], error) {
	none := figure.Answer[LethalityResult]{}
	rec, err := checkLethality(in)
	if err != nil {
		return none, err
	}
	sum, err := CumulativeF(in.TimesMin, rec.temps, rec.reference, rec.z)
	if err != nil {
		return none, err
	}
	cooked, err := CumulativeF(in.TimesMin, rec.temps, 100, 33)
	if err != nil {
		return none, err
	}
	r := LethalityResult{
		FMin: sum[len(sum)-1], CumulativeMin: sum, PeakC: float64(peak(rec.temps)),
		FTrapezoidMin: trapezoidF(in.TimesMin, rec.temps, rec.reference, rec.z),
		CookValueMin:  cooked[len(cooked)-1],
	}
	r.Below118Share = shareBelow(118, in.TimesMin, rec, r.FMin)
	fillSurvivors(in, rec, &r)
	r.Sentence = fmt.Sprintf("The probe earned about %s min at %g °C (z %g K).", two(r.FMin), float64(rec.reference), rec.z)
	return figure.Answer[LethalityResult]{
		Result: r, Cautions: lethalityCautions(in, rec, r), Working: lethalityWorking(in, rec, r),
	}, nil
}

// record is a checked LethalityInput.
type record struct {
	temps     []units.Celsius
	reference units.Celsius
	z         float64
}

// checkLethality checks the input.
func checkLethality(in LethalityInput) (record, error) {
	rec := record{reference: ReferenceC, z: ReferenceZ}
	if len(in.TimesMin) != len(in.Celsius) {
		return rec, figure.Faultf("celsius", "give one temperature for each time",
			"there are %d times and %d temperatures", len(in.TimesMin), len(in.Celsius))
	}
	if len(in.TimesMin) < 2 {
		return rec, figure.Faultf("times_min", "give the whole record, from cold to cold", "%d reading makes no record", len(in.TimesMin))
	}
	if err := checkTimes("times_min", in.TimesMin); err != nil {
		return rec, err
	}
	for i, c := range in.Celsius {
		if err := checkCelsius(fmt.Sprintf("celsius[%d]", i), c, -20, 150); err != nil {
			return rec, err
		}
		rec.temps = append(rec.temps, units.Celsius(c))
	}
	if in.ReferenceC != nil {
		if err := checkCelsius("reference_c", *in.ReferenceC, 40, 150); err != nil {
			return rec, err
		}
		rec.reference = units.Celsius(*in.ReferenceC)
	}
	if in.ZC != nil {
		if !(*in.ZC >= 2 && *in.ZC <= 60) {
			return rec, figure.Faultf("z_c", "give the kelvin that change the rate tenfold; 10 for F0", "a z of %g K is outside 2 to 60 K", *in.ZC)
		}
		rec.z = *in.ZC
	}
	if in.EqualAtC != nil {
		if err := checkCelsius("equal_at_c", *in.EqualAtC, 40, 150); err != nil {
			return rec, err
		}
	}
	return rec, checkSpores(in)
}

// checkTimes returns a fault unless the times are within two years and ascend.
func checkTimes(field string, t []float64) error {
	for i, v := range t {
		if !(math.Abs(v) <= 1e6) {
			return figure.Faultf(fmt.Sprintf("%s[%d]", field, i), "give minutes from the start", "time %d is %g min", i+1, v)
		}
		if i > 0 && !(v > t[i-1]) {
			return figure.Faultf(fmt.Sprintf("%s[%d]", field, i), "sort the record by time and keep one reading per moment",
				"time %d, %g min, is not after %g min before it", i+1, v, t[i-1])
		}
	}
	return nil
}

// checkCelsius returns a fault unless c lies within lo and hi. A value that
// would be right in °F is named.
func checkCelsius(field string, c, lo, hi float64) error {
	if c >= lo && c <= hi {
		return nil
	}
	mend := fmt.Sprintf("give %g to %g °C", lo, hi)
	if f := (c - 32) / 1.8; c > hi && f >= lo && f <= hi {
		mend += fmt.Sprintf("; if %g was in °F, write %.1f", c, f)
	}
	return figure.Faultf(field, mend, "%g °C is outside %g to %g °C", c, lo, hi)
}

// checkSpores checks the optional count and D.
func checkSpores(in LethalityInput) error {
	if in.StartCount != nil && !(*in.StartCount > 0 && *in.StartCount <= 1e30) {
		return figure.Faultf("start_count", "give how many spores the vessel held, such as 3000", "a start count of %g makes no sense", *in.StartCount)
	}
	if in.DMin != nil && !(*in.DMin > 0 && *in.DMin <= 1e6) {
		return figure.Faultf("d_min", "give the minutes at the reference that leave one in ten, such as 1.5", "a D of %g min makes no sense", *in.DMin)
	}
	if in.StartCount != nil && in.DMin == nil {
		return figure.Faultf("d_min", "give d_min too, or leave start_count out", "a start count alone tells no survivors")
	}
	return nil
}

// fillSurvivors adds what the optional inputs ask for.
func fillSurvivors(in LethalityInput, rec record, r *LethalityResult) {
	if in.DMin != nil {
		logs := r.FMin / *in.DMin
		r.LogReduction = &logs
	}
	if in.StartCount != nil {
		n := Survivors(*in.StartCount, *in.DMin, r.FMin)
		r.Survivors = &n
	}
	if in.EqualAtC != nil {
		m := EqualHold(r.FMin, units.Celsius(*in.EqualAtC), rec.reference, rec.z)
		r.EqualHoldMin = &m
	}
}

// peak returns the highest temperature.
func peak(temps []units.Celsius) units.Celsius {
	top := temps[0]
	for _, t := range temps {
		top = max(top, t)
	}
	return top
}

// shareBelow returns the share of f that was earned below limit, nil if f is
// too small to share out.
func shareBelow(limit units.Celsius, times []float64, rec record, f float64) *float64 {
	if !(f > 1e-300) {
		return nil
	}
	sum := 0.0
	for i := 1; i < len(times); i++ {
		a, b, dt := rec.temps[i-1], rec.temps[i], times[i]-times[i-1]
		switch {
		case a <= limit && b <= limit:
			sum += lethalInterval(dt, a, b, rec.reference, rec.z)
		case a > limit && b > limit:
		default: // the straight line crosses the limit: only the part below counts
			low := min(a, b)
			part := float64(limit-low) / math.Abs(float64(b-a))
			sum += lethalInterval(dt*part, low, limit, rec.reference, rec.z)
		}
	}
	share := min(sum/f, 1)
	return &share
}

// lethalityCautions says what may mislead in r.
func lethalityCautions(in LethalityInput, rec record, r LethalityResult) []figure.Caution {
	out := []figure.Caution{}
	last := len(rec.temps) - 1
	if rec.temps[last] > 90 {
		out = append(out, figure.Caution{
			Code: "ends_hot", Title: "The record ends hot", Weight: figure.Care,
			Text: fmt.Sprintf("The last reading is %.1f °C. What came after is not counted, and nobody can say from this that the hold was kept to its end.", in.Celsius[last]),
		})
	}
	if gap := widestGap(in.TimesMin, rec.temps); gap > 5 {
		out = append(out, figure.Caution{
			Code: "sparse", Title: "Few readings while it was hot", Weight: figure.Care,
			Text: fmt.Sprintf("Up to %g min lie between readings above 100 °C; a straight line stands in for what happened. Log every minute.", gap),
		})
	}
	if r.Below118Share != nil && *r.Below118Share > 0.5 && r.FMin >= 0.1 {
		out = append(out, below118(*r.Below118Share))
	}
	if hot := minutesAbove(115, in.TimesMin, rec.temps); hot > 150 {
		out = append(out, figure.Caution{
			Code: "long_heat", Title: "A long time hot", Weight: figure.Care,
			Text: fmt.Sprintf("%.0f min above 115 °C brown sugars and slow growth: more is not always better.", hot),
		})
	}
	if rec.z >= 20 {
		out = append(out, figure.Caution{
			Code: "dry_heat_z", Title: "A z for dry heat or for cooking", Weight: figure.Note,
			Text: "Spores in wet heat have a z of 6 to 13 K. With a larger one the figure speaks of dry heat or of quality.",
		})
	}
	out = append(out, figure.Caution{
		Code: "at_the_probe", Title: "At the probe, not in the jar", Weight: figure.Note,
		Text: "The figure belongs to the spot of the probe. The core of a jar lags behind the chamber by an hour or more.",
	})
	return append(out, dryPockets(), estimate())
}

// widestGap is the longest time between two readings above 100 °C.
func widestGap(times []float64, temps []units.Celsius) float64 {
	gap := 0.0
	for i := 1; i < len(times); i++ {
		if max(temps[i], temps[i-1]) > 100 {
			gap = max(gap, times[i]-times[i-1])
		}
	}
	return gap
}

// minutesAbove is the time the straight lines spend above limit.
func minutesAbove(limit units.Celsius, times []float64, temps []units.Celsius) float64 {
	sum := 0.0
	for i := 1; i < len(times); i++ {
		lo, hi := min(temps[i-1], temps[i]), max(temps[i-1], temps[i])
		switch {
		case lo >= limit:
			sum += times[i] - times[i-1]
		case hi > limit:
			sum += (times[i] - times[i-1]) * float64(hi-limit) / float64(hi-lo)
		}
	}
	return sum
}

// lethalityWorking shows the integral.
func lethalityWorking(in LethalityInput, rec record, r LethalityResult) []figure.Step {
	out := []figure.Step{
		{
			Step: "lethal rate at the peak", Formula: fmt.Sprintf("10^((%.2f - %g)/%g)", r.PeakC, float64(rec.reference), rec.z),
			Value: steam.LethalRate(units.Celsius(r.PeakC), rec.reference, rec.z), Unit: "min per min", Source: "Bigelow's model",
		},
		{
			Step: "F, straight lines between readings", Formula: "sum of dt z (L2 - L1) / (ln 10 (T2 - T1))", Value: r.FMin, Unit: "min",
			Source: "exact integral of the lethal rate",
		},
		{
			Step: "F by the trapezoid rule, for comparison", Formula: "sum of dt (L1 + L2)/2", Value: r.FTrapezoidMin, Unit: "min",
			Source: "always too high on a ramp",
		},
		{
			Step: "cook value", Formula: "F at 100 °C with z 33 K", Value: r.CookValueMin, Unit: "min at 100 °C",
			Source: "common practice in canning, z from memory",
		},
	}
	if r.LogReduction != nil {
		out = append(out, figure.Step{Step: "powers of ten killed", Formula: fmt.Sprintf("F / %g min", *in.DMin), Value: *r.LogReduction, Unit: "", Source: "straight survivor line"})
	}
	if r.Survivors != nil {
		out = append(out, figure.Step{Step: "survivors", Formula: "N0 10^(-F/D)", Value: *r.Survivors, Unit: "", Source: "straight survivor line"})
	}
	if r.EqualHoldMin != nil {
		out = append(out, figure.Step{Step: "equal hold", Formula: fmt.Sprintf("F / L(%g °C)", *in.EqualAtC), Value: *r.EqualHoldMin, Unit: "min", Source: "Bigelow's model"})
	}
	return out
}
