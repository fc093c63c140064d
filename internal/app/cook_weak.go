package app

import (
	"fmt"
	"strings"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
)

// weakest is the F0 of a core, min, below which the own rule is a stop sign
// for it: a tenth of what is aimed at elsewhere. enough is what a load that is
// nearly clean is aimed at. Common practice, no source.
const weakest, enough = 1, 8.0

// left are those of the cautions of a hold that stand for one kind of jar,
// which is named where there may be several, with the hold that would do.
func (c cookFacts) left(v *CookVessel, in thermal.HoldInput, answer figure.Answer[thermal.HoldResult]) []figure.Caution {
	var out []figure.Caution
	for _, x := range answer.Cautions {
		if v == nil || x.Code != "rule_is_weak" && x.Code != "target_out_of_reach" {
			continue
		}
		if f := answer.Result.RuleCoreF0Min; f != nil && f.Low != nil && *f.Low < weakest {
			x.Weight = figure.Stop
		}
		x.Text = capitalised(v.String()) + ": " + strings.ToLower(x.Text[:1]) + x.Text[1:]
		if x.Code == "rule_is_weak" {
			x.Text += c.enoughText(in)
		}
		out = append(out, x)
	}
	return out
}

// enoughText says how long a core takes in this pot to get what a nearly clean
// load is aimed at, "" if that can not be reckoned.
func (c cookFacts) enoughText(in thermal.HoldInput) string {
	target := enough
	hold, err := c.holds.forTarget(thermal.CookInput{
		AltitudeM: in.AltitudeM, GaugePsi: in.GaugePsi, GaugeReadsHighPsi: in.GaugeReadsHighPsi, GaugeDoubtPsi: c.gaugeDoubt(), StartC: in.StartC,
		ComeUpMin: 20, HoldMin: in.RuleHoldMin, Cool: "natural", Container: *in.Container, Substrate: *in.Substrate, Mode: in.Mode, Lid: in.Lid, TargetF0Min: &target,
	})
	switch {
	case err != nil:
		return ""
	case hold.High != nil && hold.Best != nil:
		return fmt.Sprintf(" %.0f min in the core, the aim for a load that is nearly clean, take a hold of %s by the likeliest run and up to %s.", enough, wholeUp(*hold.Best), wholeUp(*hold.High))
	case hold.Best != nil:
		return fmt.Sprintf(" %.0f min in the core, the aim for a load that is nearly clean, take a hold of %s by the likeliest run, and more than a day by the slow one: fill less, or use smaller jars.", enough, wholeUp(*hold.Best))
	}
	return fmt.Sprintf(" A day in this pot does not bring the core to %.0f min, the aim for a load that is nearly clean: fill less, use smaller jars, or a vessel made for a higher pressure.", enough)
}
