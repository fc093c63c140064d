package thermal

import (
	"errors"
	"fmt"

	"pinset/internal/calc/steam"
	"pinset/internal/figure"
	"pinset/internal/units"
)

// pot is a pressure cooker at its working pressure, checked.
type pot struct {
	ambient units.Pascal
	gauge   units.Pascal  // counted on: the gauge error taken off
	temp    units.Celsius // of air-free steam in it
	boiling units.Celsius // in the open beside it
}

// potAsk is what a pot is asked for with, and the keys to name in a fault.
type potAsk struct {
	altitudeM             *float64
	gaugePsi              float64
	readsHighPsi          float64
	ratedPsi              *float64
	altitudeKey, gaugeKey string
}

// newPot checks the ask and finds the temperature of the pot.
func newPot(a potAsk) (pot, error) {
	ambient, err := steam.AmbientAt(a.altitudeM, nil)
	if err != nil {
		return pot{}, renamed(err, "altitude_m", a.altitudeKey)
	}
	if err := steam.CheckGauge(a.gaugeKey, a.gaugePsi, a.ratedPsi); err != nil {
		return pot{}, err
	}
	if err := steam.CheckGaugeError(a.readsHighPsi); err != nil {
		return pot{}, err
	}
	reading, high := psi(a.gaugePsi), psi(a.readsHighPsi)
	p := pot{ambient: ambient, gauge: max(steam.LowerGauge(reading, high), 0)}
	temp, errTemp := steam.GaugeTemp(p.ambient, p.gauge)
	boiling, errBoil := steam.BoilingPoint(p.ambient)
	p.temp, p.boiling = temp, boiling
	return p, errors.Join(errTemp, errBoil)
}

// shifted returns p with the gauge pressure more by psi, not below 0.
func (p pot) shifted(more float64) (pot, error) {
	p.gauge = max(p.gauge+psi(more), 0)
	temp, err := steam.GaugeTemp(p.ambient, p.gauge)
	p.temp = temp
	return p, err
}

// psi turns a gauge pressure into pascal.
func psi(v float64) units.Pascal { return units.Pascal(v * steam.PascalPerPsi) }

// renamed returns err with the field of a Fault renamed from one key to
// another, for inputs that hold two of a kind.
func renamed(err error, from, to string) error {
	var f *figure.Fault
	if to == "" || !errors.As(err, &f) || f.Field != from {
		return err
	}
	g := *f
	g.Field = to
	return &g
}

// potCautions says what every cook at this pot must bear in mind.
func potCautions(a potAsk, p pot) []figure.Caution {
	out := steam.GaugeCautions(a.gaugePsi, a.readsHighPsi)
	if a.readsHighPsi == 0 {
		out = append(out, figure.Caution{
			Code: "gauge_untested", Title: "The gauge is taken as right", Weight: figure.Note,
			Text: "One that reads 2 psi too much at 15 psi cooks 2.2 °C too cold, at 0.6 of the kill. Have a dial gauge tested once a year and after a knock; a weight needs no test.",
		})
	}
	out = append(out, figure.Caution{
		Code: "vent_first", Title: "Vent first", Weight: figure.Care,
		Text: "The temperature holds for a pot free of air: let steam blow steadily for 10 min before the weight goes on. A gauge can not see air.",
	})
	if p.ambient < 98500 { // more than about 240 m up
		out = append(out, figure.Caution{
			Code: "altitude", Title: "The altitude takes temperature", Weight: figure.Care,
			Text: "Hold longer; do not raise the pressure above the rating of the vessel.",
		})
	}
	return out
}

// hob is the caution on the fire below a pot.
func hob() figure.Caution {
	return figure.Caution{
		Code: "hob", Title: "Hours on a hob", Weight: figure.Care,
		Text: "Gas burnt for hours fills a room with carbon monoxide and takes its air: open a window and have an alarm. Set the pot on a firm hob that bears its weight. " +
			"Keep children away, and never leave it unattended.",
	}
}

// manual is the caution that the maker's manual goes first.
func manual() figure.Caution {
	return figure.Caution{
		Code: "manual_first", Title: "The maker's manual goes first", Weight: figure.Note,
		Text: "Use a rack, leave the vent pipe free, never leave the pot unattended, never block a weight or valve, " +
			"and open it only when the pressure is zero and 10 min have passed.",
	}
}

// waterFor is the caution on water for a long hold; nil for a short one.
func waterFor(holdMin float64) []figure.Caution {
	if !(holdMin > 90) {
		return nil
	}
	return []figure.Caution{{
		Code: "water", Title: "Enough water for the whole time", Weight: figure.Stop,
		Text: fmt.Sprintf("%.0f min can boil a pot dry. Reckon the water first; never let it run dry and never add water under pressure.", holdMin),
	}}
}
