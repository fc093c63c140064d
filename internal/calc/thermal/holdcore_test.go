package thermal

import (
	"strings"
	"testing"
)

// pintHold is a rule of 90 min at 15 psi and sea level for a pint of cake, in
// a pot at the same weight and the altitude m.
func pintHold(m float64) HoldInput {
	return HoldInput{
		RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: &m,
		Container: &Container{BoreMM: 76, FillMM: 95}, UWM2K: &even,
		Substrate: &Substrate{ConductivityWMK: ptr(0.50), DiffusivityM2S: ptr(1.45e-7)},
	}
}

// Matched by the core the hold is longer than the rule and shorter than
// without lag; cooked for it, the core has what the rule gives.
func TestHoldByCore(t *testing.T) {
	in := pintHold(1524)
	ans := mustHold(t, in)
	r := ans.Result
	if !(*r.CoreEqualMin.Low > 90 && *r.CoreEqualMin.Low < *r.CoreEqualMin.Best &&
		*r.CoreEqualMin.Best < *r.CoreEqualMin.High && *r.CoreEqualMin.High < r.NoLagHoldMin) {
		t.Errorf("core %g %g %g, without lag %g", *r.CoreEqualMin.Low, *r.CoreEqualMin.Best, *r.CoreEqualMin.High, r.NoLagHoldMin)
	}
	if r.AdvisedMin != *r.CoreEqualMin.High {
		t.Errorf("advised %g min", r.AdvisedMin)
	}
	near(t, "core under the rule", *r.RuleCoreF0Min.Best, 6.6, 0.05*6.6) // the table of cakes
	cook := cakeCook(76, 95)
	cook.AltitudeM, cook.HoldMin = in.AltitudeM, *r.CoreEqualMin.Best
	near(t, "core in the own pot", mustCook(t, cook).Result.Core.Best.F0HeatOffMin, *r.RuleCoreF0Min.Best, 0.01)
	if !hasCaution(ans.Cautions, "rule_is_weak") || hasCaution(ans.Cautions, "no_lag") {
		t.Errorf("cautions %+v", ans.Cautions)
	}
}

// The same pot needs the rule; a hotter one no less; and a small wet jar,
// which hardly lags, nearly the hold without lag.
func TestHoldByCoreBounds(t *testing.T) {
	same := mustHold(t, pintHold(0)).Result
	near(t, "same pot", *same.CoreEqualMin.Best, 90, 0.01)
	near(t, "advised", same.AdvisedMin, 90, 0.01)
	hot := pintHold(0)
	hot.RuleGaugePsi = 10
	r := mustHold(t, hot).Result
	if !(*r.CoreEqualMin.High < 90) || r.AdvisedMin != 90 {
		t.Errorf("a hotter pot: core %g, advised %g", *r.CoreEqualMin.High, r.AdvisedMin)
	}
	small := pintHold(1524)
	small.Container = &Container{BoreMM: 20, FillMM: 20}
	s := mustHold(t, small).Result
	near(t, "a small jar", *s.CoreEqualMin.Best, s.NoLagHoldMin, 0.03*s.NoLagHoldMin)
}

// What a day can not match falls back on the hold without lag, and says so.
func TestHoldByCoreOutOfReach(t *testing.T) {
	in := pintHold(0)
	in.GaugePsi, in.RuleHoldMin, in.Container = 0, 400, &Container{BoreMM: 50, FillMM: 50}
	ans := mustHold(t, in)
	r := ans.Result
	if r.CoreEqualMin.High != nil || r.AdvisedMin != r.NoLagHoldMin || !hasCaution(ans.Cautions, "target_out_of_reach") {
		t.Errorf("%+v", r)
	}
}

func TestHoldByCoreFaults(t *testing.T) {
	for _, c := range []struct {
		name, field string
		spoil       func(*HoldInput)
	}{
		{"no container", "container", func(in *HoldInput) { in.Container = nil }},
		{"bore", "container.bore_mm", func(in *HoldInput) { in.Container.BoreMM = 0 }},
		{"no substrate", "substrate.moisture_pct", func(in *HoldInput) { in.Substrate = nil }},
		{"come-up", "come_up_min", func(in *HoldInput) { in.ComeUpMin = ptr(-1) }},
		{"start", "start_c", func(in *HoldInput) { in.StartC = ptr(99) }},
		{"mode", "mode", func(in *HoldInput) { in.Mode = "soup" }},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := pintHold(0)
			c.spoil(&in)
			_, err := Hold(in)
			faultAt(t, err, c.field)
		})
	}
}

func TestHoldSentence(t *testing.T) {
	r := mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 15, AltitudeM: ptr(1524)}).Result
	if !strings.Contains(r.Sentence, "at least 169 min") {
		t.Errorf("%q", r.Sentence)
	}
}

func TestBandOf(t *testing.T) {
	b := bandOf([3]*float64{nil, ptr(3), ptr(2)})
	if *b.Low != 2 || *b.Best != 3 || b.High != nil {
		t.Errorf("%+v", b)
	}
	b = bandOf([3]*float64{ptr(3), ptr(1), ptr(2)})
	if *b.Low != 1 || *b.Best != 2 || *b.High != 3 {
		t.Errorf("%+v", b)
	}
}
