package lab

// Calibration is the cook model fitted to a probe: one container, one recipe,
// one height of fill. A later one of the same kind goes before the earlier.
type Calibration struct {
	Entry
	Cook      CookID
	Container ContainerID
	Recipe    RecipeVersionID
	Fit       CalibrationFit
}

// CalibrationFit is what came of a fit.
type CalibrationFit struct {
	What   string    `json:"what"` // one of CalibrationKinds: what the factor multiplies
	Factor float64   `json:"factor"`
	RMSEC  float64   `json:"rmse_c"` // of the core about the model, K
	FHMin  *float64  `json:"f_h_min"`
	JH     *float64  `json:"j_h"`
	FillMM float64   `json:"fill_mm"`
	Probe  float64   `json:"probe_mm"` // above the bottom of the fill
	Vessel string    `json:"vessel"`   // container and recipe, as they were called
	Mix    string    `json:"mix"`
	Record EntryID   `json:"record"` // of the core
	Course []Reading `json:"course"` // of the model with the factor
}

// CalibrationKinds lists what can be fitted.
var CalibrationKinds = []string{"multiplier", "surface"}
