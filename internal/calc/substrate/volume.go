package substrate

// Densities of what substrates are made of, g/mL at 20 °C. A mass displaces
// mass / density, dissolved or not: an approximation that is good to about
// 1 mL per litre for broths of up to 100 g/L.
//
// Source: Choi and Okos (1986), equations for protein, fat, carbohydrate and
// ash of foods, at 20 °C; equations from memory. Water is taken as 1 g/mL
// (0.998 at 20 °C), as growers do.
const (
	waterDensity        = 1.0
	proteinDensity      = 1.3299 - 0.5184e-3*20
	fatDensity          = 0.92559 - 0.41757e-3*20
	carbohydrateDensity = 1.5991 - 0.31046e-3*20
	ashDensity          = 2.4238 - 0.28063e-3*20
	otherDryDensity     = 1.5 // plant cell walls and starch, from memory
)

// Volumes of the US measures of the USDA tables, mL.
const (
	cupML  = 236.5882365
	tbspML = cupML / 16
	tspML  = cupML / 48
)
