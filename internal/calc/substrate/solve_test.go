package substrate

import (
	"math"
	"testing"
)

func riceCake() Recipe {
	return Recipe{Mixes: []Mix{{Name: "cake", Lines: []Line{{Ingredient: "brown rice", Amount: "50 g"}, {Ingredient: "water", Amount: "60 g"}}}}}
}

func TestSolve(t *testing.T) {
	// The inverse ratio for 65 % on brown rice is 1.520 g/g, to 0.001.
	a, err := Solve(SolveInput{Recipe: riceCake(), Jars: 12, Change: "Water", For: "moisture_pct", Target: 65})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "water", &a.Result.PerJarG, 50*1.520, 0.026)
	within(t, "in all", &a.Result.BatchG, 12*a.Result.PerJarG, 1e-9)
	within(t, "now", a.Result.Now, 59.91, 0.005)
	within(t, "reached", a.Result.PerJar.MoisturePct, 65, 1e-9)
	within(t, "liquid", a.Result.PerJar.MLPerG, a.Result.PerJarG/50, 1e-9)
	// An ingredient that is not in the recipe yet.
	a, err = Solve(SolveInput{Recipe: riceCake(), Jars: 1, Change: "soy peptone", For: "cn", Target: 25})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "now none", &a.Result.NowG, 0, 0)
	within(t, "C:N", a.Result.PerJar.CN, 25, 1e-9)
	within(t, "peptone", &a.Result.PerJarG, (20.150-25*50*0.0754/5.95)/(25*0.09-0.42), 1e-6)
}

func TestSolveFaults(t *testing.T) {
	for _, c := range []struct {
		change, goal string
		target       float64
		field        string
	}{
		{"water", "moisture_pct", 5, "target"},
		{"water", "moisture_pct", 100, "target"},
		{"water", "moisture_pct", math.NaN(), "target"},
		{"sugar", "cn", 10, "target"},
		{"soy peptone", "cn", 2, "target"},
		{"water", "taste", 1, "for"},
		{"stardust", "cn", 30, "change"},
		{"sawdust", "n_pct_of_dry", 1, "recipe"},
		{"brown rice", "cn", 31, "target"}, // all of the nitrogen is its own
	} {
		_, err := Solve(SolveInput{Recipe: riceCake(), Jars: 1, Change: c.change, For: c.goal, Target: c.target})
		fault(t, err, c.field)
	}
	_, err := Solve(SolveInput{Recipe: riceCake(), Change: "water", For: "moisture_pct", Target: 60})
	fault(t, err, "jars")
}

func TestAudit(t *testing.T) {
	claim := func(c Claims) (AuditResult, bool) {
		a, err := Audit(AuditInput{Recipe: riceCake(), Claims: c})
		if err != nil {
			t.Fatal(err)
		}
		return a.Result, has(a.Cautions, "claim_moisture_pct")
	}
	r, doubted := claim(Claims{MoisturePct: ptr(60), CN: ptr(32), MLPerG: ptr(1.2), WetG: ptr(110), NPctDry: ptr(1.44)})
	if len(r.Findings) != 5 || doubted {
		t.Errorf("%d findings, doubted %t", len(r.Findings), doubted)
	}
	for _, f := range r.Findings {
		if f.Agrees == nil || !*f.Agrees {
			t.Errorf("%s: %g claimed, %g computed", f.Figure, f.Claimed, *f.Computed)
		}
	}
	for pct, reads := range map[float64]bool{54.5: true, 149.4: true, 120: true, 70: false} { // 60/110, water over dry, 60/50
		r, doubted := claim(Claims{MoisturePct: &pct})
		if f := r.Findings[0]; *f.Agrees || !doubted || (f.Reading != "") != reads {
			t.Errorf("%g %%: %+v", pct, f)
		}
	}
	_, err := Audit(AuditInput{Recipe: riceCake(), Claims: Claims{CN: ptr(math.NaN())}})
	fault(t, err, "claims.cn")
	if r, _ := claim(Claims{}); r.Findings == nil || len(r.Findings) != 0 {
		t.Error("findings without a claim")
	}
}

func TestSoak(t *testing.T) {
	// Immersed wheat holds 0.75 g per g dry, 42.9 % (Becker 1960): 1000 g at
	// 13.1 % drain at 869 × 1.75 g.
	a, err := Soak(SoakInput{GrainG: 1000, GrainMoisturePct: 13.1, DrainedG: 869 * 1.75, TargetPct: ptr(50), SolidsLostPct: ptr(0)})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "moisture", &a.Result.MoisturePct, 42.857, 0.001)
	within(t, "per g dry", &a.Result.WaterPerDry, 0.75, 1e-12)
	within(t, "taken up", &a.Result.TakenUpG, 869*0.75-131, 1e-9)
	within(t, "at 50 %", a.Result.DrainedForTargetG, 1738, 1e-9)
	if len(a.Cautions) != 0 {
		t.Errorf("at the limit, with the loss known: %v", a.Cautions)
	}
	a, err = Soak(SoakInput{GrainG: 1000, GrainMoisturePct: 12, DrainedG: 1900})
	if err != nil || !has(a.Cautions, "beyond_soaking") || !has(a.Cautions, "solids_lost") {
		t.Errorf("cooked grain: %v, %v", a.Cautions, err)
	}
	if a, _ := Soak(SoakInput{GrainG: 1000, DrainedG: 1760}); !has(a.Cautions, "beyond_soaking") {
		t.Error("0.76 g/g passes as soaked")
	}
	lost, _ := Soak(SoakInput{GrainG: 1000, GrainMoisturePct: 12, DrainedG: 1900, SolidsLostPct: ptr(5)})
	if !(lost.Result.MoisturePct > a.Result.MoisturePct) {
		t.Error("a loss of solids does not make the grain wetter")
	}
	for field, in := range map[string]SoakInput{
		"grain_g": {GrainG: math.NaN(), DrainedG: 1}, "grain_moisture_pct": {GrainG: 1, GrainMoisturePct: 130, DrainedG: 1}, "drained_g": {GrainG: 1000, DrainedG: 500},
		"solids_lost_pct":     {GrainG: 1, DrainedG: 1, SolidsLostPct: ptr(90)},
		"target_moisture_pct": {GrainG: 1, DrainedG: 1, TargetPct: ptr(math.NaN())},
	} {
		_, err := Soak(in)
		fault(t, err, field)
	}
}
