package substrate

import (
	"fmt"
	"math"
	"strconv"

	"pinset/internal/figure"
)

// AuditInput holds a recipe against what its author says of it.
type AuditInput struct {
	Recipe Recipe `json:"recipe" jsonschema:"the mixes, and what of each goes into a jar"`
	Claims Claims `json:"claims" jsonschema:"what the recipe says of itself; give one figure or more"`
}

// Claims are figures that came with a recipe.
type Claims struct {
	MoisturePct *float64 `json:"moisture_pct,omitempty" jsonschema:"moisture claimed, % of the wet mass"`
	CN          *float64 `json:"cn,omitempty" jsonschema:"C:N claimed, by mass"`
	NPctDry     *float64 `json:"n_pct_of_dry,omitempty" jsonschema:"nitrogen claimed, % of the dry matter"`
	MLPerG      *float64 `json:"ml_per_g,omitempty" jsonschema:"water claimed for each gram of grain as weighed"`
	WetG        *float64 `json:"wet_g,omitempty" jsonschema:"grams of substrate in a jar as claimed"`
}

// AuditResult is the jar as computed, and each claim beside it.
type AuditResult struct {
	PerJar   PerJar    `json:"per_jar"`
	Findings []Finding `json:"findings"`
}

// Finding is one claim and what the recipe gives.
type Finding struct {
	Figure   string   `json:"figure"` // key of the claim
	Claimed  float64  `json:"claimed"`
	Computed *float64 `json:"computed"`
	Agrees   *bool    `json:"agrees"`  // within the tolerance; nil if it can not be computed
	Reading  string   `json:"reading"` // how the claim may have been meant, "" if it agrees or no reading fits
}

// Tolerances of an audit: what cups, and book values of grain, leave open.
// Our own choice.
const (
	auditMoisture = 1.0  // percentage points
	auditShare    = 0.05 // of other figures
)

// Audit computes what a found recipe holds and compares the claims. A claimed
// moisture that does not agree is tried as water over dry matter, and with
// the grain's own water left out: common slips.
//
// Source: mass balance, as for Substrate.
func Audit(in AuditInput) (figure.Answer[AuditResult], error) {
	b, err := plan(SubstrateInput{Recipe: in.Recipe, Jars: 1})
	if err != nil {
		return figure.Answer[AuditResult]{}, err
	}
	plain := SubstrateResult{}
	a := figure.Answer[AuditResult]{Result: AuditResult{PerJar: perJar(&b.jar, b.liquidML()), Findings: []Finding{}}, Cautions: b.cautions(&plain, &b.jar), Working: []figure.Step{}}
	p := a.Result.PerJar
	for _, c := range []struct {
		key      string
		claimed  *float64
		computed *float64
	}{
		{"moisture_pct", in.Claims.MoisturePct, p.MoisturePct},
		{"cn", in.Claims.CN, p.CN},
		{"n_pct_of_dry", in.Claims.NPctDry, p.NPctDry},
		{"ml_per_g", in.Claims.MLPerG, p.MLPerG},
		{"wet_g", in.Claims.WetG, &p.WetG},
	} {
		if c.claimed == nil {
			continue
		}
		if !(*c.claimed >= 0 && *c.claimed <= maxLineG) {
			return figure.Answer[AuditResult]{}, figure.Faultf("claims."+c.key, "write the figure as the recipe gives it, or leave it out", "the claim is %g, it must be 0 or more", *c.claimed)
		}
		f := b.compare(c.key, *c.claimed, c.computed)
		a.Result.Findings = append(a.Result.Findings, f)
		a.Working = append(a.Working, figure.Step{Step: c.key + " as computed", Formula: "as for one jar of the recipe", Value: value(c.computed), Unit: "", Source: massBalance})
		if f.Agrees != nil && !*f.Agrees {
			a.Cautions = append(a.Cautions, figure.Caution{
				Code: "claim_" + c.key, Title: "The claim does not follow from the recipe", Weight: figure.Care,
				Text: fmt.Sprintf("The recipe says %s for %s; its amounts give %s. %s", gFormat(*c.claimed), c.key, gFormat(*c.computed), sentence(f.Reading)),
			})
		}
	}
	return a, nil
}

func value(x *float64) any {
	if x == nil {
		return nil
	}
	return *x
}

func (b *batch) compare(key string, claimed float64, computed *float64) Finding {
	f := Finding{Figure: key, Claimed: claimed, Computed: computed}
	if computed == nil {
		return f
	}
	tol := auditShare * math.Abs(*computed)
	if key == "moisture_pct" {
		tol = auditMoisture
	}
	agrees := math.Abs(claimed-*computed) <= tol
	f.Agrees = &agrees
	if !agrees && key == "moisture_pct" {
		f.Reading = b.moistureReading(claimed)
	}
	return f
}

// moistureReading finds what else a claimed moisture can be.
func (b *batch) moistureReading(claimed float64) string {
	dry := b.jar.mass - b.jar.water
	for _, r := range []struct {
		pct  float64
		text string
	}{
		{100 * b.jar.poured / b.jar.mass, "it fits if the water that the ingredients hold themselves is left out"},
		{100 * b.jar.water / dry, "it fits as water over dry matter, which is another figure"},
		{100 * b.jar.poured / (b.jar.mass - b.jar.poured), "it fits as water poured over what it was poured on"},
	} {
		if math.Abs(r.pct-claimed) <= auditMoisture {
			return r.text
		}
	}
	return ""
}

func gFormat(x float64) string { return strconv.FormatFloat(x, 'g', 4, 64) }
