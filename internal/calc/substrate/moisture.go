package substrate

import (
	"pinset/internal/figure"
	"pinset/internal/units"
)

// Moisture returns the moisture, wet basis, of grain mixed with liquid.
// GrainMoisture is 0..1, liquidPerGrain is grams of liquid per gram of grain
// as weighed (0..100), liquidSolids is the share of dry matter in the liquid
// (0..1, 0 for water). Outside of that it is a Fault.
//
// Not for grain that is soaked or boiled and drained, which leaves solids
// behind and takes up less than is poured.
//
// Source: mass balance, M = (m + r (1 - s)) / (1 + r).
func Moisture(grainMoisture, liquidPerGrain, liquidSolids float64) (float64, error) {
	if err := shares(grainMoisture, liquidSolids); err != nil {
		return 0, err
	}
	if !(liquidPerGrain >= 0 && liquidPerGrain <= 100) {
		return 0, figure.Faultf("liquid_per_grain", "write grams of liquid per gram of grain, such as 1.2", "the liquid is %g g per g of grain, it must lie from 0 to 100", liquidPerGrain)
	}
	return (grainMoisture + liquidPerGrain*(1-liquidSolids)) / (1 + liquidPerGrain), nil
}

// LiquidForMoisture returns the grams of liquid per gram of grain that bring
// a mix to the given moisture: the inverse of Moisture. The moisture must lie
// from that of the grain up to, but below, that of the liquid.
//
// Source: mass balance, r = (M - m) / (1 - s - M).
func LiquidForMoisture(grainMoisture, moisture, liquidSolids float64) (float64, error) {
	if err := shares(grainMoisture, liquidSolids); err != nil {
		return 0, err
	}
	if !(moisture >= grainMoisture && moisture < 1-liquidSolids) {
		return 0, figure.Faultf("moisture", "ask for a moisture between that of the grain and that of the liquid", "%.4g %% can not be mixed from grain at %.4g %% and liquid at %.4g %% water",
			100*moisture, 100*grainMoisture, 100*(1-liquidSolids))
	}
	return (moisture - grainMoisture) / (1 - liquidSolids - moisture), nil
}

func shares(grainMoisture, liquidSolids float64) error {
	if !(grainMoisture >= 0 && grainMoisture <= 1) {
		return figure.Faultf("grain_moisture", "write a share from 0 to 1", "the grain moisture is %g, it must lie from 0 to 1", grainMoisture)
	}
	if !(liquidSolids >= 0 && liquidSolids <= 1) {
		return figure.Faultf("liquid_solids", "write a share from 0 to 1", "the dry share of the liquid is %g, it must lie from 0 to 1", liquidSolids)
	}
	return nil
}

// WaterToRaise returns the water that brings mass from one moisture to a
// higher one, both wet basis, 0 <= from <= to < 1.
//
// Source: mass balance, m (to - from) / (1 - to).
func WaterToRaise(mass units.Gram, from, to float64) (units.Gram, error) {
	if !(mass >= 0 && float64(mass) <= maxBatchG) {
		return 0, figure.Faultf("mass_g", "write what is to be wetted, in grams", "the mass is %g g, it must lie from 0 to %g g", float64(mass), float64(maxBatchG))
	}
	if !(from >= 0 && from <= to && to < 1) {
		return 0, figure.Faultf("moisture", "write a moisture from that at hand up to, but below, 100 %", "%.4g %% moisture can not be raised to %.4g %% with water", 100*from, 100*to)
	}
	return mass * units.Gram((to-from)/(1-to)), nil
}

// DryMass returns the dry matter in a wet mass of the given moisture, 0..1.
func DryMass(wet units.Gram, moisture float64) (units.Gram, error) {
	if !(wet >= 0 && float64(wet) <= maxBatchG) {
		return 0, figure.Faultf("wet_g", "write the wet mass in grams", "the wet mass is %g g, it must lie from 0 to %g g", float64(wet), float64(maxBatchG))
	}
	if !(moisture >= 0 && moisture <= 1) {
		return 0, figure.Faultf("moisture", "write a share from 0 to 1", "the moisture is %g, it must lie from 0 to 1", moisture)
	}
	return wet * units.Gram(1-moisture), nil
}

// BiologicalEfficiency returns 100 times the fresh mass picked over the dry
// mass of the substrate, in percent. The fresh mass is 0 or more, the dry
// mass above 0. Not for dried fruit over substrate, which is another figure.
//
// Source: common definition of the trade and of the literature on cultivated
// mushrooms.
func BiologicalEfficiency(fresh, dry units.Gram) (float64, error) {
	if !(fresh >= 0 && float64(fresh) <= maxBatchG) {
		return 0, figure.Faultf("fresh_g", "write the fresh mass picked, in grams", "the fresh mass is %g g, it must lie from 0 to %g g", float64(fresh), float64(maxBatchG))
	}
	if !(dry > 0 && float64(dry) <= maxBatchG) {
		return 0, figure.Faultf("dry_g", "write the dry mass of the substrate, in grams", "the dry mass is %g g, it must lie above 0 and up to %g g", float64(dry), float64(maxBatchG))
	}
	return 100 * float64(fresh) / float64(dry), nil
}
