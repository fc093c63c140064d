package thermal

import (
	"fmt"
	"math"
)

// Composition is the mass fractions of a substrate; they add up to 1.
type Composition struct {
	Water, Protein, Fat, Carbohydrate, Fibre, Ash float64
}

// parts returns the fractions in the order of the component table.
func (x Composition) parts() [6]float64 {
	return [6]float64{x.Water, x.Protein, x.Fat, x.Carbohydrate, x.Fibre, x.Ash}
}

// component is polynomials in t (°C): a + b t + c t2.
type component struct {
	density      [3]float64 // kg/m3
	heat         [3]float64 // kJ/kgK
	conductivity [3]float64 // W/mK
}

// components is water, protein, fat, carbohydrate, fibre and ash.
//
// Valid for 0 to 150 °C.
//
// Source: Choi and Okos (1986), as in ASHRAE Handbook Refrigeration (2006),
// "Thermal properties of foods", tables 1 and 2. Errata, each against
// measured values: the first coefficient of the heat of water is 4.1762, not
// 4.1289 as ASHRAE 2006 prints (water is 4.18 kJ/kgK); the slope of the
// conductivity of fat is -2.7604e-4, not -2.7604e-3 as a textbook prints (fat
// is 0.17 W/mK); that of carbohydrate is 1.3874e-3, not 1.3874e-2; the slope
// of the heat of fat is 1.4733e-3, and one copy has 1.4373e-3. The published
// diffusivities do not agree with k/(rho c) and are not used.
var components = [6]component{
	{[3]float64{997.18, 3.1439e-3, -3.7574e-3}, [3]float64{4.1762, -9.0864e-5, 5.4731e-6}, [3]float64{0.57109, 1.7625e-3, -6.7036e-6}},
	{[3]float64{1329.9, -0.51840, 0}, [3]float64{2.0082, 1.2089e-3, -1.3129e-6}, [3]float64{0.17881, 1.1958e-3, -2.7178e-6}},
	{[3]float64{925.59, -0.41757, 0}, [3]float64{1.9842, 1.4733e-3, -4.8008e-6}, [3]float64{0.18071, -2.7604e-4, -1.7749e-7}},
	{[3]float64{1599.1, -0.31046, 0}, [3]float64{1.5488, 1.9625e-3, -5.9399e-6}, [3]float64{0.20141, 1.3874e-3, -4.3312e-6}},
	{[3]float64{1311.5, -0.36589, 0}, [3]float64{1.8459, 1.8306e-3, -4.6509e-6}, [3]float64{0.18331, 1.2497e-3, -3.1683e-6}},
	{[3]float64{2423.8, -0.28063, 0}, [3]float64{1.0926, 1.8896e-3, -3.6817e-6}, [3]float64{0.32962, 1.4011e-3, -2.9069e-6}},
}

// at evaluates a + b t + c t2.
func at(p [3]float64, t float64) float64 { return p[0] + t*(p[1]+t*p[2]) }

// Properties are what a substrate is at one temperature, without pores.
type Properties struct {
	Density       float64 // kg/m3
	Heat          float64 // J/kgK
	Parallel      float64 // W/mK, components side by side: the upper bound
	Perpendicular float64 // W/mK, components in layers: the lower bound
}

// Mean returns the conductivity midway between the bounds. The upper bound
// alone gives 5 to 10 % too much against measured potato and beef.
func (p Properties) Mean() float64 { return (p.Parallel + p.Perpendicular) / 2 }

// PropertiesAt returns the properties of x at t (°C).
//
// Valid for 0 to 150 °C and fractions that add up to 1 within 0.001.
//
// Source: ASHRAE Handbook Refrigeration (2006), "Thermal properties of
// foods": 1/rho = sum x/rho_i, c = sum x c_i, k from volume fractions.
func PropertiesAt(x Composition, t float64) (Properties, error) {
	if !(t >= 0 && t <= 150) {
		return Properties{}, fmt.Errorf("thermal: properties at %g °C, outside 0 to 150 °C", t)
	}
	parts, sum, volume := x.parts(), 0.0, 0.0
	for i, f := range parts {
		if !(f >= 0) { // one above 1 makes the sum too large
			return Properties{}, fmt.Errorf("thermal: mass fraction %g of component %d", f, i)
		}
		sum += f
		volume += f / at(components[i].density, t)
	}
	if !(math.Abs(sum-1) <= 1e-3) {
		return Properties{}, fmt.Errorf("thermal: mass fractions add up to %g", sum)
	}
	p := Properties{Density: sum / volume}
	resist := 0.0
	for i, f := range parts {
		v := f / at(components[i].density, t) / volume
		k := at(components[i].conductivity, t)
		p.Heat += 1000 * f / sum * at(components[i].heat, t)
		p.Parallel += v * k
		resist += v / k
	}
	p.Perpendicular = 1 / resist
	return p, nil
}

// airConductivity is that of dry air at t (°C), W/mK; from memory, 2 % to
// 120 °C.
func airConductivity(t float64) float64 { return 0.0241 + 7.2e-5*t }

// PorousConductivity returns the conductivity of a solid of k with the share
// void of its volume in air bubbles at t (°C): Maxwell and Eucken, air
// dispersed. Void is 0..1; above 0.5 the air is hardly dispersed any more.
func PorousConductivity(k, void, t float64) float64 {
	air := airConductivity(t)
	return k * (2*k + air - 2*void*(k-air)) / (2*k + air + void*(k-air))
}

// GeometricConductivity is the pessimistic alternative to PorousConductivity:
// k^(1-void) k_air^void.
func GeometricConductivity(k, void, t float64) float64 {
	return math.Pow(k, 1-void) * math.Pow(airConductivity(t), void)
}

// dryGrain is the dry matter of a cereal, which stands in for that of any
// substrate. Mass fractions of the dry matter.
var dryGrain = Composition{Protein: 0.04 / 0.45, Fat: 0.015 / 0.45, Carbohydrate: 0.375 / 0.45, Fibre: 0.015 / 0.45, Ash: 0.005 / 0.45}

// WetGrain returns the composition of grain with the share water of its mass.
func WetGrain(water float64) Composition {
	dry := 1 - water
	return Composition{
		Water: water, Protein: dry * dryGrain.Protein, Fat: dry * dryGrain.Fat,
		Carbohydrate: dry * dryGrain.Carbohydrate, Fibre: dry * dryGrain.Fibre, Ash: dry * dryGrain.Ash,
	}
}
