package substrate

import (
	"fmt"
	"math"

	"pinset/internal/figure"
)

// SteamOff is what a jar with a vented lid may lose in a cook, at most.
type SteamOff struct {
	AtMostG     float64 `json:"at_most_g"`    // water per jar
	MoisturePct float64 `json:"moisture_pct"` // that the jar then holds
	DropC       float64 `json:"cook_drop_c"`  // from the cook to the boiling point that this is for
}

// Figures of the bound.
const (
	seaDrop    = 21.0   // °C, from 15 psi at the sea (121) to the boiling point there
	heatWater  = 4.2    // kJ/(kg K), from memory
	heatSolids = 1.55   // kJ/(kg K), carbohydrate at 20 °C; Choi and Okos (1986), from memory
	heatVapour = 2256.4 // kJ/kg at 100 °C; IAPWS-95 as in steam tables, from memory
)

// steamOff is the water that boils off while a jar cools by drop °C, from the
// cook to the boiling point, with no heat lost through its wall: an upper
// bound. Water that distils off during the hold is not in it, nor what the
// pot drips in. It is nil where the water of the jar is unknown.
//
// Source: heat balance, (sum of mass × specific heat) × ΔT / latent heat.
func steamOff(jar *blend, drop *float64) *SteamOff {
	if jar.noWater > 0 || !(jar.mass > 0) {
		return nil
	}
	s := SteamOff{DropC: seaDrop}
	if drop != nil {
		s.DropC = *drop
	}
	heat := (heatWater*jar.water + heatSolids*(jar.mass-jar.water)) * s.DropC
	s.AtMostG = math.Min(jar.water, heat/heatVapour)
	if !(s.AtMostG < jar.mass) {
		return nil
	}
	s.MoisturePct = 100 * (jar.water - s.AtMostG) / (jar.mass - s.AtMostG)
	return &s
}

// step says how the bound came to be.
func (s *SteamOff) step() figure.Step {
	return figure.Step{
		Step: "steam off in the cook, at most", Formula: fmt.Sprintf("(water × 4.2 + dry × 1.55 kJ/(kg K)) × %.3g K / 2256 kJ/kg", s.DropC), Value: s.AtMostG, Unit: "g",
		Source: "heat balance, no heat lost through the wall; weigh three jars before and after to know",
	}
}
