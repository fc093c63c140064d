package thermal

import (
	"math"
	"testing"
)

// Constants that no table feels, reckoned by hand: the fast film in a bottle,
// its fullness, the heat of evaporation at 100 °C (2256.6 kJ/kg, as package
// steam has it from IAPWS SR1-86), air at 100 °C, a headspace of nothing.
func TestConstantsByHand(t *testing.T) {
	j, err := newJar(bottleCook().jarInput())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fast film", j.vessels[high].steam.Side, 1/(1/8000.0+0.003+1/1000.0), 1e-9)
	for headspace, want := range map[float64]bool{33: true, 34: false} {
		in := bottleCook()
		in.Container.HeadspaceMM = &headspace
		if got := hasCaution(liquidCautions(in.jarInput(), false), "too_full"); got != want {
			t.Errorf("100 mm under %g mm: too full %v", headspace, got)
		}
	}
	litres, err := boilOff(1000, 60, 100)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "a kilowatt for an hour", litres, 3600/2256.6, 1e-4)
	near(t, "air at 100 °C", airConductivity(100), 0.0313, 1e-5)
	near(t, "no headspace", headspaceCoefficient("tight", 0, best, 3000), 30+4*0.35*5.670374e-8*math.Pow(363, 3), 1e-6)
}
