package substrate

import "math"

// SteamOff is what a jar with a vented lid may lose in a cook, at most.
type SteamOff struct {
	AtMostG     float64 `json:"at_most_g"`    // water per jar
	MoisturePct float64 `json:"moisture_pct"` // that the jar then holds
}

// Figures of the bound.
const (
	cookPeak   = 121.0  // °C, 15 psi at the sea
	cookBoil   = 100.0  // °C; where water boils below it, the loss is larger in proportion
	heatWater  = 4.2    // kJ/(kg K), from memory
	heatSolids = 1.55   // kJ/(kg K), carbohydrate at 20 °C; Choi and Okos (1986), from memory
	heatVapour = 2256.4 // kJ/kg at 100 °C; IAPWS-95 as in steam tables, from memory
)

// steamOff is the water that boils off while a jar cools from the cook to
// the boiling point with no heat lost through its wall: an upper bound. Water
// that distils off during the hold is not in it, nor what the pot drips in.
// It is nil where the water of the jar is unknown.
//
// Source: heat balance, (sum of mass × specific heat) × ΔT / latent heat.
func steamOff(jar *blend) *SteamOff {
	if jar.noWater > 0 || !(jar.mass > 0) {
		return nil
	}
	heat := (heatWater*jar.water + heatSolids*(jar.mass-jar.water)) * (cookPeak - cookBoil)
	lost := math.Min(jar.water, heat/heatVapour)
	if !(lost < jar.mass) {
		return nil
	}
	return &SteamOff{AtMostG: lost, MoisturePct: 100 * (jar.water - lost) / (jar.mass - lost)}
}
