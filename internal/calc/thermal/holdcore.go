package thermal

import "pinset/internal/figure"

// jarInput is the part of the input that cook shares.
func (in HoldInput) jarInput() jarInput {
	out := jarInput{
		mode: in.Mode,
		wall: wallInput{u: in.UWM2K, wallMM: in.WallMM, wallWMK: in.WallWMK, filmWM2K: in.FilmWM2K, lid: in.Lid},
	}
	if in.Container != nil {
		out.container = *in.Container
	}
	if in.Substrate != nil {
		out.substrate = *in.Substrate
	}
	return out
}

// holdByCore matches the cores, if there is a container, and then advises the
// longest of the three runs instead of the hold without lag.
func holdByCore(in HoldInput, rule, own pot, r *HoldResult) error {
	if in.Container == nil {
		if in.Substrate != nil || in.UWM2K != nil {
			return figure.Faultf("container", "give the bore and the fill of the jar too", "a filling is given but no container")
		}
		return nil
	}
	p, err := holdProcess(in, float64(rule.temp))
	if err != nil {
		return err
	}
	j, err := newJar(in.jarInput())
	if err != nil {
		return err
	}
	var earned, hold [3]*float64
	for i, v := range j.vessels {
		if earned[i], hold[i], err = matchCore(v, p, float64(own.temp)); err != nil {
			return err
		}
	}
	r.RuleCoreF0Min = &Band{Low: earned[low], Best: earned[best], High: earned[high]}
	r.CoreEqualMin = bandOf(hold)
	r.AdvisedMin = in.RuleHoldMin
	if top := r.CoreEqualMin.High; top != nil {
		r.AdvisedMin = max(in.RuleHoldMin, *top)
	} else {
		r.AdvisedMin = max(in.RuleHoldMin, r.NoLagHoldMin)
	}
	return nil
}

// holdProcess is the heating of the rule.
func holdProcess(in HoldInput, chamber float64) (process, error) {
	p := process{start: 20, chamber: chamber, comeUp: 20, hold: in.RuleHoldMin}
	if in.ComeUpMin != nil {
		p.comeUp = *in.ComeUpMin
	}
	if in.StartC != nil {
		p.start = *in.StartC
	}
	if !(p.comeUp >= 0 && p.comeUp <= 600) {
		return p, figure.Faultf("come_up_min", "give the minutes from heat-on to pressure", "%g is outside 0 to 600", p.comeUp)
	}
	if !(p.start >= 1 && p.start <= 95) {
		return p, figure.Faultf("start_c", "give the temperature of the filled jars, such as 20", "%g is outside 1 to 95", p.start)
	}
	return p, nil
}

// matchCore returns what the core earns under the rule until heat-off, and
// the hold at chamber for the same; nil if a day does not do it.
func matchCore(v vessel, rule process, chamber float64) (earned, hold *float64, err error) {
	h := newHeating(v, rule)
	if err := h.comeUp(rule); err != nil {
		return nil, nil, err
	}
	if err := h.hold(rule, rule.hold, nil); err != nil {
		return nil, nil, err
	}
	f := h.probe.least()
	own := rule
	own.chamber = chamber
	minutes, ok, err := holdFor(v, own, f)
	if err != nil || !ok {
		return &f, nil, err
	}
	return &f, &minutes, nil
}

// bandOf orders three figures by number; one that can not be said is the
// greatest, for it stands for a search that found no end.
func bandOf(v [3]*float64) *Band {
	out := v
	for range 2 {
		for i := range 2 {
			if out[i] == nil || out[i+1] != nil && *out[i] > *out[i+1] {
				out[i], out[i+1] = out[i+1], out[i]
			}
		}
	}
	return &Band{Low: out[0], Best: out[1], High: out[2]}
}
