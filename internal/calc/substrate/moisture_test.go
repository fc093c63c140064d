package substrate

import (
	"math"
	"testing"

	"pinset/internal/units"
)

// Grain moistures of USDA SR28 by NDB number; the grid and the inverse
// ratios follow from the formula and are printed to 0.1 % and 0.001 g/g, so
// the tolerance is half of the last digit.
var grid = []struct {
	ndb   string
	mixed [6]float64 // % at r = 0.8, 1.0, 1.1, 1.2, 1.3, 1.5
	ratio [5]float64 // r for 45, 50, 55, 60, 65 %
}{
	{"20036", [6]float64{51.0, 55.9, 58.0, 59.9, 61.7, 64.7}, [5]float64{0.604, 0.764, 0.960, 1.205, 1.520}},
	{"20044", [6]float64{50.9, 55.8, 57.9, 59.8, 61.6, 64.6}, [5]float64{0.607, 0.768, 0.964, 1.210, 1.525}},
	{"20072", [6]float64{51.7, 56.5, 58.6, 60.5, 62.2, 65.2}, [5]float64{0.580, 0.738, 0.931, 1.172, 1.483}},
	{"20062", [6]float64{50.3, 55.3, 57.4, 59.4, 61.1, 64.2}, [5]float64{0.625, 0.788, 0.987, 1.235, 1.554}},
	{"20038", [6]float64{49.0, 54.1, 56.3, 58.3, 60.1, 63.3}, [5]float64{0.669, 0.836, 1.040, 1.294, 1.622}},
	{"20031", [6]float64{49.3, 54.3, 56.5, 58.5, 60.3, 63.5}, [5]float64{0.661, 0.827, 1.030, 1.283, 1.609}},
	{"20067", [6]float64{51.3, 56.2, 58.3, 60.2, 61.9, 65.0}, [5]float64{0.593, 0.752, 0.947, 1.190, 1.503}},
	{"20014", [6]float64{50.2, 55.2, 57.3, 59.3, 61.0, 64.1}, [5]float64{0.630, 0.793, 0.992, 1.241, 1.561}},
	{"20004", [6]float64{49.7, 54.7, 56.9, 58.8, 60.6, 63.8}, [5]float64{0.647, 0.811, 1.012, 1.264, 1.587}},
}

func TestMoistureGrid(t *testing.T) {
	for _, row := range grid {
		grain := Find(row.ndb)
		if len(grain) != 1 || grain[0].Moisture == nil {
			t.Fatalf("NDB %s finds %v", row.ndb, grain)
		}
		m := *grain[0].Moisture
		for i, r := range []float64{0.8, 1.0, 1.1, 1.2, 1.3, 1.5} {
			got, err := Moisture(m, r, 0)
			if err != nil || math.Abs(100*got-row.mixed[i]) > 0.05+1e-9 {
				t.Errorf("NDB %s at %g g/g: %.3f %%, %v; want %.1f %%", row.ndb, r, 100*got, err, row.mixed[i])
			}
		}
		for i, want := range []float64{0.45, 0.50, 0.55, 0.60, 0.65} {
			got, err := LiquidForMoisture(m, want, 0)
			if err != nil || math.Abs(got-row.ratio[i]) > 0.0005+1e-9 {
				t.Errorf("NDB %s to %g: %.4f g/g, %v; want %.3f", row.ndb, want, got, err, row.ratio[i])
			}
		}
	}
}

// 100 g of grain at 12 % with liquid counted as water: a worked case of the
// trade, to 0.1 %.
func TestMoistureLadder(t *testing.T) {
	for liquid, want := range map[float64]float64{1.00: 56.0, 1.05: 57.1, 1.10: 58.1, 1.15: 59.1, 1.20: 60.0} {
		if got, err := Moisture(0.12, liquid, 0); err != nil || math.Abs(100*got-want) > 0.1 {
			t.Errorf("%g g/g: %.3f %%, %v; want %.1f %%", liquid, 100*got, err, want)
		}
	}
}

// A liquid of 5 % solids on brown rice, by the same formula.
func TestMoistureWithSolids(t *testing.T) {
	for r, want := range map[float64]float64{1.0: 53.4, 1.2: 57.2} {
		if got, err := Moisture(0.118, r, 0.05); err != nil || math.Abs(100*got-want) > 0.05 {
			t.Errorf("%g g/g: %.3f %%, %v; want %.1f", r, 100*got, err, want)
		}
	}
	if r, err := LiquidForMoisture(0.118, 0.60, 0.05); err != nil || math.Abs(r-1.377) > 0.0005 {
		t.Errorf("60 %%: %.4f g/g, %v; want 1.377", r, err)
	}
}

// A batch by the pound: 10 lb 11 oz dry at 10 % water, 21 lb 13 oz wet.
func TestMoistureOfBatchByThePound(t *testing.T) {
	dry, _ := units.ParseMass("10 lb 11 oz")
	wet, _ := units.ParseMass("21 lb 13 oz")
	solids, err := DryMass(dry, 0.10)
	if got := 100 * (1 - float64(solids/wet)); err != nil || math.Abs(got-55.9) > 0.2 {
		t.Errorf("moisture %.2f %%, %v; want 55.9", got, err)
	}
	r := one(t, []Mix{{Name: "block", Lines: []Line{{Ingredient: "sawdust", Amount: "10 lb 11 oz", MoisturePct: ptr(10)}, {Ingredient: "water", Amount: "11 lb 2 oz"}}}}, nil)
	within(t, "moisture of the batch", r.PerJar.MoisturePct, 55.9, 0.2)
}

func TestWaterToRaise(t *testing.T) {
	for _, c := range []struct{ from, to, want float64 }{{0.10, 0.60, 1250}, {0.10, 0.65, 1571}, {0.12, 0.75, 2520}, {0.3, 0.3, 0}} {
		got, err := WaterToRaise(1000, c.from, c.to)
		if err != nil || math.Abs(float64(got)-c.want) > 0.5 {
			t.Errorf("%g to %g: %.1f g, %v; want %g", c.from, c.to, float64(got), err, c.want)
		}
	}
}

// Published pairs of fresh mass and BE on a stated dry mass: Horticulturae
// 2025 11(10):1220 (275 g); PMC11671258 (500 g); Agronomy 2020 10:1892
// (400 g). Two decimals are printed.
func TestBiologicalEfficiency(t *testing.T) {
	for _, c := range []struct{ fresh, dry, want float64 }{{253.85, 275, 92.31}, {445.69, 500, 89.14}, {235.4, 400, 58.85}} {
		got, err := BiologicalEfficiency(units.Gram(c.fresh), units.Gram(c.dry))
		if err != nil || math.Abs(got-c.want) > 0.0051 {
			t.Errorf("%g g on %g g: %.3f %%, %v; want %.2f", c.fresh, c.dry, got, err, c.want)
		}
	}
	// 650 g from a block of 3.0 kg at 60 % water, by hand: 54.2 %. 1000 lb at
	// 10 % water and 900 lb picked: 100 %.
	for _, c := range []struct{ fresh, wet, moisture, want float64 }{{650, 3000, 0.60, 54.2}, {900, 1000, 0.10, 100}} {
		dry, err1 := DryMass(units.Gram(c.wet), c.moisture)
		got, err2 := BiologicalEfficiency(units.Gram(c.fresh), dry)
		if err1 != nil || err2 != nil || math.Abs(got-c.want) > 0.1 {
			t.Errorf("%g of %g at %g: %.2f %%; want %g", c.fresh, c.wet, c.moisture, got, c.want)
		}
	}
}

func TestMoistureEdges(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range [][3]float64{{nan, 1, 0}, {0.1, nan, 0}, {0.1, 1, nan}, {1.3, 1, 0}, {-0.1, 1, 0}, {0.1, inf, 0}, {0.1, -1, 0}, {0.1, 1, 1.1}} {
		if got, err := Moisture(c[0], c[1], c[2]); err == nil {
			t.Errorf("Moisture(%v) = %g", c, got)
		}
	}
	for _, c := range [][3]float64{{nan, 0.5, 0}, {0.1, nan, 0}, {0.6, 0.5, 0}, {0.1, 1, 0}, {0.1, 0.95, 0.05}} {
		if got, err := LiquidForMoisture(c[0], c[1], c[2]); err == nil {
			t.Errorf("LiquidForMoisture(%v) = %g", c, got)
		}
	}
	for _, c := range [][3]float64{{nan, 0.1, 0.6}, {-1, 0.1, 0.6}, {1, 0.6, 0.1}, {1, 0.1, 1}, {1, nan, 0.6}, {1, 0.1, nan}, {inf, 0.1, 0.6}} {
		if got, err := WaterToRaise(units.Gram(c[0]), c[1], c[2]); err == nil {
			t.Errorf("WaterToRaise(%v) = %g", c, float64(got))
		}
	}
	for _, c := range [][2]float64{{nan, 1}, {1, nan}, {1, 0}, {-1, 1}, {1, -1}, {1, inf}, {inf, 1}} {
		if got, err := BiologicalEfficiency(units.Gram(c[0]), units.Gram(c[1])); err == nil {
			t.Errorf("BiologicalEfficiency(%v) = %g", c, got)
		}
	}
	if _, err := DryMass(1, nan); err == nil {
		t.Error("DryMass took NaN")
	}
	if got, _ := Moisture(0, 0, 0); got != 0 {
		t.Errorf("dry grain with no liquid holds %g", got)
	}
}
