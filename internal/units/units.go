// Package units holds measured quantities in one unit each, and reads and
// prints them the way growers write them: "10 lb 11 oz", "1/2 cup", "46ml",
// "15 psi", "68 °F", "1,5 kg".
//
// Types tell a mass from a volume at compile time. They can not tell a wet
// mass from a dry one: names must.
package units

// Quantities, each in the unit of its name. Differences of temperature are
// plain float64 kelvin.
type (
	Gram       float64 // mass
	Millilitre float64 // volume
	Millimetre float64 // length of vessels and tools
	Metre      float64 // altitude
	Celsius    float64 // temperature
	Kelvin     float64 // thermodynamic temperature
	Pascal     float64 // absolute pressure unless the name says gauge
	Minute     float64 // duration of a hold, a come-up, a wait
	Watt       float64 // power
	Fraction   float64 // share, 0..1
)
