package app

import (
	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
)

// holdMemo keeps answers of the calculators hold and cook: every open page asks
// for the alarms of a running cook again and again, and a hold takes a tenth
// of a second.
type holdMemo struct {
	holds   answers[thermal.HoldInput, figure.Answer[thermal.HoldResult]]
	targets answers[thermal.CookInput, thermal.Band]
}

// hold answers in, by the calculator or from what is kept.
func (m *holdMemo) hold(in thermal.HoldInput) (figure.Answer[thermal.HoldResult], error) {
	return clipped(m.holds.get(in, thermal.Hold))
}

// forTarget is the hold that the calculator cook finds for the target of in,
// by the calculator or from what is kept.
func (m *holdMemo) forTarget(in thermal.CookInput) (thermal.Band, error) {
	return m.targets.get(in, func(in thermal.CookInput) (thermal.Band, error) {
		answer, err := thermal.Cook(in)
		return answer.Result.HoldForTargetMin, err
	})
}
