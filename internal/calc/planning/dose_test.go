package planning

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"pinset/internal/figure"
)

func mustDose(t *testing.T, in DoseInput) figure.Answer[DoseResult] {
	t.Helper()
	a, err := Dose(in)
	if err != nil {
		t.Fatalf("Dose: %v", err)
	}
	if _, err := json.Marshal(a); err != nil {
		t.Fatal(err)
	}
	return a
}

func ptr[T any](v T) *T { return &v }

func has(a figure.Answer[DoseResult], code string) bool {
	for _, c := range a.Cautions {
		if c.Code == code {
			return true
		}
	}
	return false
}

// 600 mL at 3 mL: 200 jars with nothing kept or lost; 186 with 10 mL kept and
// 5 % lost, 280 at 2 mL: floor(590 × 0.95 / dose). 1600 mL at 2 mL and 5 %
// serve 760. By hand.
func TestDoseCounts(t *testing.T) {
	for _, c := range []struct {
		lc, keep, loss, dose float64
		want                 int
	}{
		{600, 0, 0, 3, 200},
		{600, 10, 5, 3, 186},
		{600, 10, 5, 2, 280},
		{1600, 0, 5, 2, 760},
		{600, 0, 10, 3, 180}, // 540/3 in binary is a hair under
		{10, 10, 5, 2, 0},
		{5, 10, 5, 2, 0},
	} {
		r := mustDose(t, DoseInput{LCML: c.lc, KeepML: c.keep, LossPct: c.loss, PerJarML: c.dose, Jars: 50}).Result
		if r.JarsPossible != c.want {
			t.Errorf("%+v: %d jars", c, r.JarsPossible)
		}
		if r.Short != max(50-c.want, 0) {
			t.Errorf("%+v: %d short", c, r.Short)
		}
	}
}

// 111 jars of 2 mL with 5 % lost take 233.7 mL, begun 21 days before
// 30 September: on the 9th. By hand.
func TestDoseBackward(t *testing.T) {
	in := DoseInput{LCML: 400, KeepML: 10, LossPct: 5, PerJarML: 2, Jars: 111, Generation: ptr(1), NeededOn: "2026-09-30", VesselML: ptr(500.0)}
	r := mustDose(t, in).Result
	if math.Abs(r.NeededML-233.7) > 0.05 {
		t.Errorf("needs %g mL, want 233.7", r.NeededML)
	}
	if *r.TransferBy != "2026-09-09" {
		t.Errorf("begin by %s", *r.TransferBy)
	}
	if *r.ChildGeneration != 2 || *r.Vessels != 1 || *r.GrownML != 300 {
		t.Errorf("child %d, %d vessels with %g mL", *r.ChildGeneration, *r.Vessels, *r.GrownML)
	}
	in.ReadyDays = ptr(14)
	if r := mustDose(t, in).Result; *r.TransferBy != "2026-09-16" {
		t.Errorf("begin by %s with 14 days", *r.TransferBy)
	}
}

// What is drawn, what is left and what the loss takes add up, and the
// greatest dose serves exactly the jars asked for.
func TestDoseAddsUp(t *testing.T) {
	for lc := 50.0; lc < 900; lc += 37 {
		for jars := 1; jars < 90; jars += 11 {
			in := DoseInput{LCML: lc, KeepML: 20, LossPct: 7, PerJarML: 2.5, Jars: jars}
			r := mustDose(t, in).Result
			if r.LeftML < in.KeepML-1e-9 {
				t.Fatalf("%+v leaves %g mL", in, r.LeftML)
			}
			if r.Short == 0 && math.Abs(r.LeftML+r.NeededML-lc) > 1e-9 {
				t.Fatalf("%+v: %g needed and %g left", in, r.NeededML, r.LeftML)
			}
			in.PerJarML = r.MaxPerJarML
			if again := mustDose(t, in).Result; again.JarsPossible != jars {
				t.Fatalf("%+v: the greatest dose serves %d", in, again.JarsPossible)
			}
		}
	}
}

// 2 mL in 250 g and 5 mL in 28 g are 8 and 179 mL/kg, as growers report
// (common practice, no source). By hand.
func TestDosePerKilogram(t *testing.T) {
	for _, c := range []struct{ dose, dry, want float64 }{{2, 250, 8}, {5, 28, 178.57}} {
		a := mustDose(t, DoseInput{LCML: 100, PerJarML: c.dose, Jars: 1, DryGPerJar: &c.dry})
		if got := *a.Result.MLPerKgDry; math.Abs(got-c.want) > 0.005 {
			t.Errorf("%g mL in %g g: %g mL/kg", c.dose, c.dry, got)
		}
		if has(a, "dose_unusual") {
			t.Errorf("%g mL in %g g is called unusual", c.dose, c.dry)
		}
	}
	if a := mustDose(t, DoseInput{LCML: 1e4, PerJarML: 100, Jars: 1, DryGPerJar: ptr(28.0)}); !has(a, "dose_unusual") {
		t.Error("100 mL in 28 g passes unasked")
	}
}

func TestDoseCautions(t *testing.T) {
	for code, in := range map[string]DoseInput{
		"lc_short":        {LCML: 10, PerJarML: 2, Jars: 6},
		"keep_exceeds_lc": {LCML: 10, KeepML: 20, PerJarML: 2, Jars: 1},
		"nothing_kept":    {LCML: 10, PerJarML: 2, Jars: 1},
		"many_transfers":  {LCML: 10, KeepML: 2, PerJarML: 2, Jars: 1, Generation: ptr(2)},
		"test_first":      {LCML: 10, KeepML: 2, PerJarML: 2, Jars: 1},
	} {
		if !has(mustDose(t, in), code) {
			t.Errorf("no caution %s for %+v", code, in)
		}
	}
	plain := mustDose(t, DoseInput{LCML: 10, KeepML: 2, PerJarML: 2, Jars: 4, Generation: ptr(1)})
	if len(plain.Cautions) != 1 {
		t.Errorf("a plain dose has %v", plain.Cautions)
	}
}

func TestDoseFaults(t *testing.T) {
	good := DoseInput{LCML: 100, PerJarML: 2, Jars: 10}
	for field, spoil := range map[string]func(*DoseInput){
		"lc_ml":         func(in *DoseInput) { in.LCML = -1 },
		"keep_ml":       func(in *DoseInput) { in.KeepML = math.Inf(1) },
		"loss_pct":      func(in *DoseInput) { in.LossPct = 100 },
		"per_jar_ml":    func(in *DoseInput) { in.PerJarML = math.NaN() },
		"jars":          func(in *DoseInput) { in.Jars = 0 },
		"generation":    func(in *DoseInput) { in.Generation = ptr(-1) },
		"dry_g_per_jar": func(in *DoseInput) { in.DryGPerJar = ptr(0.0) },
		"needed_on":     func(in *DoseInput) { in.NeededOn = "30.9.2026" },
		"ready_days":    func(in *DoseInput) { in.ReadyDays = ptr(0) },
		"vessel_ml":     func(in *DoseInput) { in.VesselML = ptr(-3.0) },
	} {
		in := good
		spoil(&in)
		_, err := Dose(in)
		var fault *figure.Fault
		if !errors.As(err, &fault) || fault.Field != field || fault.Mend == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
}
