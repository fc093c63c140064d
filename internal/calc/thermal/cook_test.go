package thermal

import "testing"

// usualCook is a pint of grain cake, 90 min at 15 psi and sea level.
func usualCook() CookInput {
	return CookInput{
		AltitudeM: ptr(0), GaugePsi: 15, ComeUpMin: 20, HoldMin: 90, Cool: "natural",
		Container: Container{BoreMM: 76, FillMM: 95}, Substrate: Substrate{MoisturePct: ptr(55)},
	}
}

func TestCookRuns(t *testing.T) {
	if _, err := Cook(usualCook()); err != nil {
		t.Fatal(err)
	}
}
