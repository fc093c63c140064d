package thermal

import (
	"fmt"
	"math"

	"pinset/internal/figure"
)

// CalibrateInput is a cook logged in the chamber and in the core of one jar.
type CalibrateInput struct {
	Container Container `json:"container" jsonschema:"the vessel that held the probe"`
	Substrate Substrate `json:"substrate" jsonschema:"what the vessel holds"`
	UWM2K     *Faces    `json:"u_w_m2k,omitempty" jsonschema:"coefficients from steam to fill at each face; left out, they come from wall, film and lid"`
	WallMM    *float64  `json:"wall_mm,omitempty" jsonschema:"thickness of the wall; left out, the usual one of the material"`
	WallWMK   *float64  `json:"wall_w_mk,omitempty" jsonschema:"heat conductivity of the wall; left out, that of the material"`
	FilmWM2K  *float64  `json:"film_w_m2k,omitempty" jsonschema:"steam film on the wall; left out, the usual one of condensing steam"`
	Lid       string    `json:"lid,omitempty" jsonschema:"how steam meets the top; vented if left out"`
	Mode      string    `json:"mode,omitempty" jsonschema:"how the fill takes heat; a solid cake if left out"`

	TimesMin []float64 `json:"times_min" jsonschema:"minutes of the readings, rising, six or more"`
	ChamberC []float64 `json:"chamber_c" jsonschema:"temperatures of the steam around the vessel, one for each time"`
	CoreC    []float64 `json:"core_c" jsonschema:"temperatures of the probe on the centre line, one for each time"`
	ProbeMM  *float64  `json:"probe_mm,omitempty" jsonschema:"height of the probe above the bottom of the fill; the middle if left out"`
	Fit      string    `json:"fit,omitempty" jsonschema:"what is fitted to the record: the conductivity of the fill (if left out), or the transfer at its faces"`
}

// CalibrateResult is the factor that makes the model follow the record.
type CalibrateResult struct {
	Factor float64   `json:"factor"`  // of the conductivity, or of the coefficients of the faces
	RMSEC  float64   `json:"rmse_c"`  // of the core about the model
	Lag    *Lag      `json:"lag"`     // null where the record has no straight part
	ModelC []float64 `json:"model_c"` // the model with the factor, at the times given
}

// Lag is the straight part of a heat penetration: the difference of chamber
// and core falls tenfold every FHMin, from JH times the first difference.
type Lag struct {
	FHMin float64 `json:"f_h_min"`
	JH    float64 `json:"j_h"`
}

// factorLow and factorHigh bound the search; a loose fill that steam blows
// through has been said to reach 3.
const factorLow, factorHigh = 0.2, 8.0

// Calibrate fits one factor of the model to a record by least squares. One
// probe can not tell conductivity from surface: only one of the two is fitted.
func Calibrate(in CalibrateInput) (figure.Answer[CalibrateResult], error) {
	none := figure.Answer[CalibrateResult]{}
	if err := checkCalibrate(in); err != nil {
		return none, err
	}
	j, err := newJar(in.jarInput())
	if err != nil {
		return none, err
	}
	var failed error
	misfit := func(logFactor float64) float64 {
		rmse, _, err := in.misfit(j, math.Exp(logFactor))
		if err != nil {
			failed = err
		}
		return rmse
	}
	at := goldenSection(misfit, math.Log(factorLow), math.Log(factorHigh), 1e-3)
	if failed != nil {
		return none, failed
	}
	r := CalibrateResult{Factor: math.Exp(at), Lag: FitLag(in.TimesMin, in.ChamberC, in.CoreC)}
	if r.RMSEC, r.ModelC, err = in.misfit(j, r.Factor); err != nil {
		return none, err
	}
	return figure.Answer[CalibrateResult]{Result: r, Cautions: calibrateCautions(in, r), Working: calibrateWorking(in, r)}, nil
}

// jarInput is the part of the input that cook shares.
func (in CalibrateInput) jarInput() jarInput {
	return jarInput{
		container: in.Container, substrate: in.Substrate, mode: in.Mode,
		wall: wallInput{u: in.UWM2K, wallMM: in.WallMM, wallWMK: in.WallWMK, filmWM2K: in.FilmWM2K, lid: in.Lid},
	}
}

// checkCalibrate checks the record.
func checkCalibrate(in CalibrateInput) error {
	n := len(in.TimesMin)
	if n < 6 {
		return figure.Faultf("times_min", "log the whole heating, a reading a minute", "%d readings are too few to fit", n)
	}
	if len(in.ChamberC) != n || len(in.CoreC) != n {
		return figure.Faultf("core_c", "give chamber and core at each time", "there are %d times, %d of the chamber and %d of the core", n, len(in.ChamberC), len(in.CoreC))
	}
	if err := checkTimes("times_min", in.TimesMin); err != nil {
		return err
	}
	for i := range n {
		if err := checkCelsius(fmt.Sprintf("chamber_c[%d]", i), in.ChamberC[i], 1, 149); err != nil {
			return err
		}
		if err := checkCelsius(fmt.Sprintf("core_c[%d]", i), in.CoreC[i], 1, 149); err != nil {
			return err
		}
	}
	if top := hottestOf(in.CoreC); !(top > in.CoreC[0]+20) {
		return figure.Faultf("core_c", "log the heating from cold", "the core rises by %.1f °C only", top-in.CoreC[0])
	}
	if in.ProbeMM != nil && !(*in.ProbeMM >= 0 && *in.ProbeMM <= in.Container.height()) {
		return figure.Faultf("probe_mm", "give the height of the probe above the base of the substrate", "a probe at %g mm is outside the fill of %g mm", *in.ProbeMM, in.Container.height())
	}
	if in.Fit != "" && in.Fit != "multiplier" && in.Fit != "surface" {
		return figure.Faultf("fit", "write multiplier or surface", "%q can not be fitted", in.Fit)
	}
	if in.Mode == "liquid" && in.Fit != "surface" {
		return figure.Faultf("fit", "write surface", "a liquid stirs itself, and there is no conductivity to fit")
	}
	return nil
}

// misfit is the root mean square of core minus model for a factor, and the
// model at the times of the record.
func (in CalibrateInput) misfit(j jar, factor float64) (rmse float64, model []float64, err error) {
	v := j.vessels[best]
	if in.Fit == "surface" {
		v.steam = v.steam.times(factor)
	} else {
		v.medium = v.medium.times(factor)
	}
	s := newConduction(v.body, v.medium, in.CoreC[0])
	p, q := newProbe(s, in.ChamberC[0]), in.probe(v.body)
	sum := 0.0
	model = []float64{in.CoreC[0]}
	for i := 1; i < len(in.TimesMin); i++ {
		a := surround{in.TimesMin[i] - in.TimesMin[i-1], in.ChamberC[i-1], in.ChamberC[i], v.steam}
		if _, err := s.run(a, usualPace, func(float64) bool { return true }); err != nil {
			return math.Inf(1), nil, err
		}
		model = append(model, q.read(p.centre(s)))
		d := model[i] - in.CoreC[i]
		sum += d * d
	}
	return math.Sqrt(sum / float64(len(in.TimesMin)-1)), model, nil
}

// probe is the place of the logger's tip on the centre line.
func (in CalibrateInput) probe(b *body) spot {
	z := b.upright()
	at := z.edge[z.n()] / 2
	if in.ProbeMM != nil {
		at = *in.ProbeMM / 1000
	}
	first := 0
	for first+3 < z.n() && z.centre[first+1] < at-(z.centre[first+2]-z.centre[first+1])/2 {
		first++
	}
	return spot{z: at, first: first, weight: lagrange(z.centre[first:first+3], at)}
}

// goldenSection returns where f, with one low point between lo and hi, is
// least, to within tol.
func goldenSection(f func(float64) float64, lo, hi, tol float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	a, b := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
	fa, fb := f(a), f(b)
	for hi-lo > tol {
		if fa < fb {
			hi, b, fb = b, a, fa
			a = hi - ratio*(hi-lo)
			fa = f(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + ratio*(hi-lo)
			fb = f(b)
		}
	}
	return (lo + hi) / 2
}

// FitLag fits the straight part of a heating: the readings at which the
// chamber is within 1 K of its top and the difference to the core is between
// 25 and 2 per cent of the first. It returns nil with fewer than three.
//
// JH counts from the first time given: begin the record where the heating
// does, or at 42 per cent of the come-up before the hold (Ball's zero).
//
// Source: Ball and Olson (1957), log10(T_chamber - T) = log10(j (T_chamber -
// T_0)) - t/f_h; the relation as described in canning literature.
func FitLag(timesMin, chamber, core []float64) *Lag {
	top := hottestOf(chamber)
	first := top - core[0]
	var n, sx, sy, sxx, sxy float64
	for i, t := range timesMin {
		d := chamber[i] - core[i]
		if chamber[i] < top-1 || !(d < 0.25*first && d > 0.02*first) {
			continue
		}
		x, y := t-timesMin[0], math.Log10(d)
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	if n < 3 || !(slope < 0) {
		return nil
	}
	return &Lag{FHMin: -1 / slope, JH: math.Pow(10, (sy-slope*sx)/n) / first}
}

// calibrateCautions says what a factor may be used for.
func calibrateCautions(in CalibrateInput, r CalibrateResult) []figure.Caution {
	out := []figure.Caution{}
	add := func(code, title, text string, w figure.Weight) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
	}
	if r.RMSEC > 3 {
		add("poor_fit", "The model does not follow the record", fmt.Sprintf("It misses the core by %.1f °C. Steam may blow through the fill, or the probe may have moved.", r.RMSEC), figure.Care)
	}
	if r.Factor < 1.05*factorLow || r.Factor > 0.95*factorHigh {
		add("at_the_bound", "The factor is at its bound", "No factor that makes sense brings the model to the record. Check the sizes and the place of the probe.", figure.Stop)
	}
	if in.Fit != "surface" && r.Factor > 3 {
		add("very_fast", "Very fast for conduction", "Above 3 the heat is carried by steam and not conducted. Do not use the factor for another fill or size.", figure.Care)
	}
	add("one_jar", "One jar, one cook", "The factor holds for this fill, lid and place in the pot. Log a second cook before resting a shorter hold on it.", figure.Care)
	return append(out, estimate())
}

// calibrateWorking shows the fit.
func calibrateWorking(in CalibrateInput, r CalibrateResult) []figure.Step {
	what := "conductivity"
	if in.Fit == "surface" {
		what = "coefficients of the faces"
	}
	out := []figure.Step{
		{Step: "factor of the " + what, Formula: "least squares of core minus model", Value: r.Factor, Unit: "", Source: "golden section on its logarithm"},
		{Step: "misfit", Formula: "root mean square", Value: r.RMSEC, Unit: "K", Source: "the record"},
	}
	if r.Lag != nil {
		out = append(
			out,
			figure.Step{Step: "f_h", Formula: "-1/slope of log10(T_chamber - T_core)", Value: r.Lag.FHMin, Unit: "min", Source: "Ball and Olson (1957)"},
			figure.Step{Step: "j_h", Formula: "intercept over the first difference", Value: r.Lag.JH, Unit: "", Source: "Ball and Olson (1957)"},
		)
	}
	return out
}
