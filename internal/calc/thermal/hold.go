package thermal

import (
	"fmt"

	"pinset/internal/calc/steam"
	"pinset/internal/figure"
)

// HoldInput asks how long to hold in one's own pot to match a rule that was
// made for another pressure or altitude.
type HoldInput struct {
	RuleHoldMin   float64 `json:"rule_hold_min" jsonschema:"minutes that the rule asks for, above 0 to 1440"`
	RuleGaugePsi  float64 `json:"rule_gauge_psi" jsonschema:"gauge pressure of the rule, 0 to 50 psi"`
	RuleAltitudeM float64 `json:"rule_altitude_m,omitempty" jsonschema:"height above the sea where the rule was made; the sea itself if left out"`

	GaugePsi          float64  `json:"gauge_psi" jsonschema:"pressure that your own gauge shows"`
	AltitudeM         *float64 `json:"altitude_m" jsonschema:"height above the sea of your own pot, -500 to 5500 m"`
	GaugeReadsHighPsi float64  `json:"gauge_reads_high_psi,omitempty" jsonschema:"how much your gauge shows too much, below 0 if too little; 0 if left out"`
	RatedPsi          *float64 `json:"rated_psi,omitempty" jsonschema:"pressure on the nameplate of your pot; left out, nothing is checked against it"`

	Container *Container `json:"container,omitempty" jsonschema:"the vessel, if the cores of both cooks are to be matched; left out, only the pots are compared"`
	Substrate *Substrate `json:"substrate,omitempty" jsonschema:"what the vessel holds; needed with a container"`
	UWM2K     *Faces     `json:"u_w_m2k,omitempty" jsonschema:"coefficients from steam to fill at each face; left out, they come from wall, film and lid"`
	WallMM    *float64   `json:"wall_mm,omitempty" jsonschema:"thickness of the wall; left out, the usual one of the material"`
	WallWMK   *float64   `json:"wall_w_mk,omitempty" jsonschema:"heat conductivity of the wall; left out, that of the material"`
	FilmWM2K  *float64   `json:"film_w_m2k,omitempty" jsonschema:"steam film on the wall; left out, the usual one of condensing steam"`
	Lid       string     `json:"lid,omitempty" jsonschema:"how steam meets the top; vented if left out"`
	Mode      string     `json:"mode,omitempty" jsonschema:"how the fill takes heat; a solid cake if left out"`
	ComeUpMin *float64   `json:"come_up_min,omitempty" jsonschema:"minutes from start to pressure in both pots; 20 if left out"`
	StartC    *float64   `json:"start_c,omitempty" jsonschema:"temperature of the load at the start, 1 to 95 °C; 20 if left out"`
}

// HoldResult is the hold that matches the rule.
type HoldResult struct {
	RuleC               float64 `json:"rule_c"`
	PotC                float64 `json:"pot_c"`
	RateShare           float64 `json:"rate_share"`                     // lethal rate of the pot over that of the rule
	NoLagHoldMin        float64 `json:"no_lag_hold_min"`                // equal kill if the load had no lag: the upper bound
	CoreEqualMin        *Band   `json:"core_equal_min"`                 // equal kill in the core at heat-off; null without a container
	RuleCoreF0Min       *Band   `json:"rule_core_f0_min"`               // what the core has earned under the rule; null without a container
	AdvisedMin          float64 `json:"advised_min"`                    // never below the rule
	GaugePsiForRuleTemp float64 `json:"gauge_psi_for_rule_temperature"` // as the own gauge would show it
	Sentence            string  `json:"sentence"`
}

// Hold matches a rule by lethality at 121.1 °C and z 10 K.
//
// Matched for the chamber, the longer hold is an upper bound: the time that
// the load needs to warm through is common to both pots. With a container the
// cores are matched by the model of Cook, and the slowest run counts.
func Hold(in HoldInput) (figure.Answer[HoldResult], error) {
	none := figure.Answer[HoldResult]{}
	if !(in.RuleHoldMin > 0 && in.RuleHoldMin <= 1440) {
		return none, figure.Faultf("rule_hold_min", "give the minutes of the rule, such as 90",
			"a rule of %g min is outside 0 to 1440 min", in.RuleHoldMin)
	}
	rule, err := newPot(in.ruleAsk())
	if err != nil {
		return none, err
	}
	own, err := newPot(in.ownAsk())
	if err != nil {
		return none, err
	}
	r, err := holdWithoutLag(in, rule, own)
	if err != nil {
		return none, err
	}
	if err := holdByCore(in, rule, own, &r); err != nil {
		return none, err
	}
	r.Sentence = fmt.Sprintf("Hold at least %s min at %.4g psi.", wholeUp(r.AdvisedMin), in.GaugePsi)
	return figure.Answer[HoldResult]{Result: r, Cautions: holdCautions(in, own, r), Working: holdWorking(in, r)}, nil
}

// ruleAsk is the pot that the rule was made for.
func (in HoldInput) ruleAsk() potAsk {
	return potAsk{
		altitudeM: &in.RuleAltitudeM, gaugePsi: in.RuleGaugePsi,
		altitudeKey: "rule_altitude_m", gaugeKey: "rule_gauge_psi",
	}
}

// ownAsk is the grower's pot.
func (in HoldInput) ownAsk() potAsk {
	return potAsk{
		altitudeM: in.AltitudeM, gaugePsi: in.GaugePsi, readsHighPsi: in.GaugeReadsHighPsi, ratedPsi: in.RatedPsi,
		altitudeKey: "altitude_m", gaugeKey: "gauge_psi",
	}
}

// holdWithoutLag matches the rule for the chamber.
func holdWithoutLag(in HoldInput, rule, own pot) (HoldResult, error) {
	share := steam.LethalRate(own.temp, rule.temp, ReferenceZ)
	needed, err := steam.GaugeFor(rule.temp, own.ambient)
	if err != nil {
		return HoldResult{}, err
	}
	r := HoldResult{
		RuleC: float64(rule.temp), PotC: float64(own.temp), RateShare: share, NoLagHoldMin: in.RuleHoldMin / share,
		GaugePsiForRuleTemp: float64(needed)/steam.PascalPerPsi + max(in.GaugeReadsHighPsi, 0),
	}
	r.AdvisedMin = max(in.RuleHoldMin, r.NoLagHoldMin)
	return r, nil
}

// holdCautions says what may mislead in r.
func holdCautions(in HoldInput, own pot, r HoldResult) []figure.Caution {
	out := potCautions(in.ownAsk(), own)
	out = append(out, waterFor(r.AdvisedMin)...)
	if r.PotC < r.RuleC-0.5 {
		out = append(out, figure.Caution{
			Code: "target_not_reached", Title: "Not the rule's temperature", Weight: figure.Care,
			Text: fmt.Sprintf("The pot is at %.1f °C, the rule at %.1f °C: each minute is worth %s of one. Log the pressure that was reached, not the one that was aimed at.",
				r.PotC, r.RuleC, two(r.RateShare)),
		})
	}
	if r.PotC < 118 {
		out = append(out, below118(1))
	}
	if r.AdvisedMin > 300 {
		out = append(out, figure.Caution{
			Code: "too_long", Title: "A very long hold", Weight: figure.Stop,
			Text: "More than 5 h browns the substrate and needs much water. Use smaller jars, or a vessel made for a higher pressure.",
		})
	}
	if in.RatedPsi == nil && r.GaugePsiForRuleTemp > in.GaugePsi+0.25 {
		out = append(out, figure.Caution{
			Code: "do_not_exceed", Title: "Longer, not harder", Weight: figure.Stop,
			Text: fmt.Sprintf("The rule's temperature would need %.1f psi here. Go there only if the nameplate allows it; otherwise hold longer.", r.GaugePsiForRuleTemp),
		})
	}
	if r.CoreEqualMin == nil {
		out = append(out, figure.Caution{
			Code: "no_lag", Title: "Reckoned without the lag of the core", Weight: figure.Note,
			Text: "This is the longest hold that can be needed for the rule's kill. Give the container and its filling for a match of the cores.",
		})
	} else {
		out = append(out, coreCautions(in, r)...)
	}
	return append(out, manual(), estimate())
}

// coreCautions says what a match of the cores rests on.
func coreCautions(in HoldInput, r HoldResult) []figure.Caution {
	out := vesselCautions(in.jarInput(), false)
	if r.CoreEqualMin.High == nil {
		out = append(out, figure.Caution{
			Code: "target_out_of_reach", Title: "The rule can not be matched", Weight: figure.Stop,
			Text: "A day in this pot does not give the core what the rule gives it. Use smaller jars, or a vessel made for a higher pressure.",
		})
	}
	if f := r.RuleCoreF0Min.Low; *f < 8 {
		out = append(out, figure.Caution{
			Code: "rule_is_weak", Title: "The rule itself leaves the core behind", Weight: figure.Care,
			Text: fmt.Sprintf("Under the rule the core has earned %s min of F0 at heat-off in the slow run. The match keeps that; it does not make it enough.", atLeast(*f)),
		})
	}
	return out
}

// holdWorking shows the match.
func holdWorking(in HoldInput, r HoldResult) []figure.Step {
	const if97 = "IAPWS R7-97(2012), eq. 31; ISO 2533:1975"
	out := []figure.Step{
		{Step: "chamber of the rule", Formula: fmt.Sprintf("steam at %.4g psi and %.4g m", in.RuleGaugePsi, in.RuleAltitudeM), Value: r.RuleC, Unit: "°C", Source: if97},
		{Step: "own chamber", Formula: fmt.Sprintf("steam at %.4g psi, less what the gauge reads high, and %.4g m", in.GaugePsi, *in.AltitudeM), Value: r.PotC, Unit: "°C", Source: if97},
		{Step: "worth of a minute", Formula: "10^((T_pot - T_rule)/10)", Value: r.RateShare, Unit: "min of the rule", Source: "Bigelow's model, z 10 K"},
		{Step: "hold for the same kill without lag", Formula: fmt.Sprintf("%g min / worth", in.RuleHoldMin), Value: r.NoLagHoldMin, Unit: "min", Source: "upper bound: the lag of the core is common to both"},
		{Step: "pressure for the rule's temperature", Formula: "p_sat(T_rule) - p0", Value: r.GaugePsiForRuleTemp, Unit: "psi", Source: "IAPWS R7-97(2012), eq. 30"},
	}
	if r.CoreEqualMin != nil {
		out = append(
			out,
			figure.Step{Step: "F0 of the core under the rule, at heat-off", Formula: "transient conduction, likeliest run", Value: r.RuleCoreF0Min.Best, Unit: "min", Source: "as the calculator cook"},
			figure.Step{Step: "hold for the same F0 in the core", Formula: "root of the model, slowest run", Value: r.CoreEqualMin.High, Unit: "min", Source: "as the calculator cook"},
		)
	}
	return append(out, figure.Step{
		Step: "advised", Formula: "the larger of the rule and the match", Value: r.AdvisedMin, Unit: "min", Source: "never below the own rule",
	})
}
