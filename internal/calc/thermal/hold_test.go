package thermal

import (
	"math"
	"testing"

	"pinset/internal/figure"
)

func mustHold(t *testing.T, in HoldInput) figure.Answer[HoldResult] {
	t.Helper()
	ans, err := Hold(in)
	if err != nil {
		t.Fatalf("Hold: %v", err)
	}
	return ans
}

// A rule of 90 min at 15 psi at sea level, in other pots. The holds follow
// from the two standards of package steam and z 10 K; computed by other hands
// and printed to the minute, or as "about".
func TestHoldWithoutLag(t *testing.T) {
	for _, c := range []struct {
		name          string
		gauge, m      float64
		temp, hold    float64
		tolC, tolHold float64
	}{
		{"10 of 15 psi", 10, 0, 115.20, 340, 0.01, 3},
		{"a kitchen cooker of 12 psi", 12, 0, 117.6, 195, 0.05, 2},
		{"a weight at 1524 m", 15, 1524, 118.2, 169, 0.05, 0.5},
		{"a weight at 1609 m", 15, 1609, 118.1, 175, 0.05, 0.5},
		{"a weight at 2438 m", 15, 2438, 116.7, 241, 0.05, 0.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: c.gauge, AltitudeM: &c.m}).Result
			near(t, "rule", r.RuleC, 120.95, 0.01)
			near(t, "pot", r.PotC, c.temp, c.tolC)
			near(t, "hold", r.NoLagHoldMin, c.hold, c.tolHold)
			if r.AdvisedMin != r.NoLagHoldMin {
				t.Errorf("advised %g min, want the no-lag hold %g min", r.AdvisedMin, r.NoLagHoldMin)
			}
		})
	}
}

// 20 min at 10 psi count as 5 min at 15 psi.
func TestHoldRateShare(t *testing.T) {
	r := mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 10, AltitudeM: ptr(0)}).Result
	near(t, "20 min", 20*r.RateShare, 5.3, 0.1)
}

// 17.5 and 17.6 psi at 5000 and 5280 ft give the temperature of 15 psi at
// sea level; a gauge that reads 1 psi high shows 1 psi more.
func TestHoldGaugeForRule(t *testing.T) {
	near(t, "1524 m", mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(1524)}).Result.GaugePsiForRuleTemp, 17.5, 0.06)
	near(t, "1609 m", mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(1609)}).Result.GaugePsiForRuleTemp, 17.6, 0.06)
	near(t, "1 psi high", mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(0), GaugeReadsHighPsi: 1}).Result.GaugePsiForRuleTemp, 16, 1e-9)
}

// A hotter pot never shortens the own rule, and the same pot gives it back.
func TestHoldNeverBelowTheRule(t *testing.T) {
	same := mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, RuleAltitudeM: 700, GaugePsi: 15, AltitudeM: ptr(700)}).Result
	near(t, "same pot", same.NoLagHoldMin, 90, 1e-9)
	hot := mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 10, GaugePsi: 15, AltitudeM: ptr(0)}).Result
	if !(hot.NoLagHoldMin < 30) || hot.AdvisedMin != 90 {
		t.Errorf("a hotter pot: %+v", hot)
	}
	high := mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(0), GaugeReadsHighPsi: 1}).Result
	if !(high.AdvisedMin > 100) {
		t.Errorf("a gauge 1 psi high: %+v", high)
	}
}

func TestHoldCautions(t *testing.T) {
	for _, c := range []struct {
		code string
		want bool
		in   HoldInput
	}{
		{"target_not_reached", true, HoldInput{GaugePsi: 10, AltitudeM: ptr(0)}},
		{"below_118", true, HoldInput{GaugePsi: 10, AltitudeM: ptr(0)}},
		{"water", true, HoldInput{GaugePsi: 10, AltitudeM: ptr(0)}},
		{"too_long", true, HoldInput{GaugePsi: 10, AltitudeM: ptr(0)}},
		{"target_not_reached", false, HoldInput{GaugePsi: 15, AltitudeM: ptr(0)}},
		{"too_long", false, HoldInput{GaugePsi: 15, AltitudeM: ptr(0)}},
		{"altitude", true, HoldInput{GaugePsi: 15, AltitudeM: ptr(1500)}},
		{"do_not_exceed", true, HoldInput{GaugePsi: 15, AltitudeM: ptr(1500)}},
		{"vent_first", true, HoldInput{GaugePsi: 15, AltitudeM: ptr(0)}},
		{"manual_first", true, HoldInput{GaugePsi: 15, AltitudeM: ptr(0)}},
		{"above_usual_rating", true, HoldInput{GaugePsi: 18, AltitudeM: ptr(494)}},
	} {
		c.in.RuleHoldMin, c.in.RuleGaugePsi = 90, 15
		if got := hasCaution(mustHold(t, c.in).Cautions, c.code); got != c.want {
			t.Errorf("%s at %g psi, %g m: %v, want %v", c.code, c.in.GaugePsi, *c.in.AltitudeM, got, c.want)
		}
	}
}

func TestHoldFaults(t *testing.T) {
	for _, c := range []struct {
		name, field string
		in          HoldInput
	}{
		{"hold 0", "rule_hold_min", HoldInput{RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(0)}},
		{"nan hold", "rule_hold_min", HoldInput{RuleHoldMin: math.NaN(), RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(0)}},
		{"no altitude", "altitude_m", HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15}},
		{"9000 m", "altitude_m", HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(9000)}},
		{"rule at 9000 m", "rule_altitude_m", HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, RuleAltitudeM: 9000, GaugePsi: 15, AltitudeM: ptr(0)}},
		{"above the rating", "gauge_psi", HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(0), RatedPsi: ptr(12)}},
		{"kPa", "gauge_psi", HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 103, AltitudeM: ptr(0)}},
		{"rule in kPa", "rule_gauge_psi", HoldInput{RuleHoldMin: 90, RuleGaugePsi: 103, GaugePsi: 15, AltitudeM: ptr(0)}},
		{"gauge error", "gauge_reads_high_psi", HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(0), GaugeReadsHighPsi: math.NaN()}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Hold(c.in)
			faultAt(t, err, c.field)
		})
	}
}
