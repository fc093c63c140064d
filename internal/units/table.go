package units

// Dimension says what a quantity measures, and so its base unit.
type Dimension string

// The dimensions, with the base unit of Quantity.Value.
const (
	Mass        Dimension = "mass"        // g
	Volume      Dimension = "volume"      // mL
	Length      Dimension = "length"      // mm
	Temperature Dimension = "temperature" // °C
	Pressure    Dimension = "pressure"    // Pa, a difference as gauges show it
	Duration    Dimension = "duration"    // min
	Share       Dimension = "share"       // 1, so that 60 % is 0.6
	Parts       Dimension = "parts"       // parts of a mix
	Count       Dimension = "count"       // a bare number
)

// unit turns x of itself into (x-zero)*factor of the base unit.
type unit struct {
	name    string // as printed
	dim     Dimension
	factor  float64
	zero    float64
	aliases []string // lower case, without spaces and dots, unless case matters
}

// Exact definitions. Source: NIST SP 811 (2008), appendix B.8 and its
// footnotes: international foot and avoirdupois pound of 1959, US gallon of
// 231 cubic inches, standard gravity.
const (
	gramsPerPound     = 453.59237
	mmPerInch         = 25.4
	mlPerGallon       = 231 * 2.54 * 2.54 * 2.54 // 3785.411784
	mlPerImperialGal  = 4546.09
	standardGravity   = 9.80665                                                      // m/s2
	pascalsPerPSI     = gramsPerPound / 1000 * standardGravity / (2.54e-2 * 2.54e-2) // 6894.757...
	pascalsPerKgfCm2  = standardGravity * 1e4                                        // 98066.5
	pascalsPerMmHg    = 133.3224                                                     // conventional, 7 digits
	pascalsPerInHg    = 3386.389                                                     // conventional, 7 digits
	fahrenheitToKelvn = 5.0 / 9.0                                                    // B.9: t/°C = (t/°F - 32)/1.8
)

// table lists every unit that is read. Within a dimension the order is that
// in which units are offered to somebody who typed an unknown one.
var table = []unit{
	{"g", Mass, 1, 0, []string{"g", "gm", "gms", "gr", "gram", "grams", "gramme", "grammes"}},
	{"kg", Mass, 1000, 0, []string{"kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes"}},
	{"oz", Mass, gramsPerPound / 16, 0, []string{"oz", "ozs", "ounce", "ounces"}},
	{"lb", Mass, gramsPerPound, 0, []string{"lb", "lbs", "pound", "pounds", "#"}},
	{"mg", Mass, 1e-3, 0, []string{"mg", "mgs", "milligram", "milligrams"}},
	{"µg", Mass, 1e-6, 0, []string{"ug", "mcg", "microgram", "micrograms"}},
	{"tonne", Mass, 1e6, 0, []string{"tonne", "tonnes", "metricton", "metrictons"}},
	{"short ton", Mass, 2000 * gramsPerPound, 0, []string{"shortton", "shorttons", "uston", "ustons"}},

	{"mL", Volume, 1, 0, []string{"ml", "mls", "cc", "ccm", "cm3", "milliliter", "milliliters", "millilitre", "millilitres"}},
	{"L", Volume, 1000, 0, []string{"l", "lt", "ltr", "ltrs", "liter", "liters", "litre", "litres", "dm3"}},
	{"cup", Volume, mlPerGallon / 16, 0, []string{"cup", "cups"}},
	{"tbsp", Volume, mlPerGallon / 256, 0, []string{"tbsp", "tbsps", "tbs", "tbl", "tblsp", "tablespoon", "tablespoons"}},
	{"tsp", Volume, mlPerGallon / 768, 0, []string{"tsp", "tsps", "teaspoon", "teaspoons"}},
	{"fl oz", Volume, mlPerGallon / 128, 0, []string{"floz", "flozs", "fluidoz", "fluidounce", "fluidounces", "flounce", "flounces"}},
	{"pt", Volume, mlPerGallon / 8, 0, []string{"pt", "pts", "pint", "pints"}},
	{"qt", Volume, mlPerGallon / 4, 0, []string{"qt", "qts", "quart", "quarts"}},
	{"gal", Volume, mlPerGallon, 0, []string{"gal", "gals", "gallon", "gallons", "usgal", "usgallon", "usgallons"}},
	{"imperial gal", Volume, mlPerImperialGal, 0, []string{"imperialgal", "impgal", "imperialgallon", "imperialgallons", "ukgal", "ukgallon", "ukgallons"}},
	{"cL", Volume, 10, 0, []string{"cl", "centiliter", "centilitre", "centiliters", "centilitres"}},
	{"dL", Volume, 100, 0, []string{"dl", "deciliter", "decilitre", "deciliters", "decilitres"}},
	{"µL", Volume, 1e-3, 0, []string{"ul", "microliter", "microlitre", "microliters", "microlitres"}},

	{"mm", Length, 1, 0, []string{"mm", "millimeter", "millimeters", "millimetre", "millimetres"}},
	{"cm", Length, 10, 0, []string{"cm", "cms", "centimeter", "centimeters", "centimetre", "centimetres"}},
	{"in", Length, mmPerInch, 0, []string{"in", "ins", "inch", "inches", `"`, "''"}},
	{"m", Length, 1000, 0, []string{"m", "meter", "meters", "metre", "metres"}},
	{"ft", Length, 12 * mmPerInch, 0, []string{"ft", "foot", "feet", "'"}},
	{"yd", Length, 36 * mmPerInch, 0, []string{"yd", "yds", "yard", "yards"}},
	{"km", Length, 1e6, 0, []string{"km", "kilometer", "kilometers", "kilometre", "kilometres"}},

	{"°C", Temperature, 1, 0, []string{"c", "degc", "degreec", "degreesc", "celsius", "degcelsius", "degreescelsius", "centigrade"}},
	{"°F", Temperature, fahrenheitToKelvn, 32, []string{"f", "degf", "degreef", "degreesf", "fahrenheit", "degfahrenheit", "degreesfahrenheit"}},
	{"K", Temperature, 1, 273.15, []string{"K", "kelvin", "kelvins"}},

	{"psi", Pressure, pascalsPerPSI, 0, []string{"psi", "psig", "lb/in2", "lbs/in2", "lbf/in2", "lb/sqin", "poundspersquareinch"}},
	{"kPa", Pressure, 1000, 0, []string{"kpa", "kilopascal", "kilopascals"}},
	{"bar", Pressure, 1e5, 0, []string{"bar", "bars", "barg"}},
	{"Pa", Pressure, 1, 0, []string{"pa", "pascal", "pascals"}},
	{"hPa", Pressure, 100, 0, []string{"hpa", "hectopascal", "hectopascals"}},
	{"mbar", Pressure, 100, 0, []string{"mbar", "mbars", "millibar", "millibars"}},
	{"MPa", Pressure, 1e6, 0, []string{"MPa", "MPA", "Mpa", "megapascal", "megapascals"}},
	{"atm", Pressure, 101325, 0, []string{"atm", "atmosphere", "atmospheres"}},
	{"kgf/cm2", Pressure, pascalsPerKgfCm2, 0, []string{"kgf/cm2", "kg/cm2", "kp/cm2"}},
	{"mmHg", Pressure, pascalsPerMmHg, 0, []string{"mmhg", "torr"}},
	{"inHg", Pressure, pascalsPerInHg, 0, []string{"inhg", `"hg`}},

	{"min", Duration, 1, 0, []string{"min", "mins", "mn", "minute", "minutes"}},
	{"h", Duration, 60, 0, []string{"h", "hr", "hrs", "hour", "hours"}},
	{"d", Duration, 1440, 0, []string{"d", "day", "days"}},
	{"s", Duration, 1.0 / 60, 0, []string{"s", "sec", "secs", "second", "seconds"}},
	{"wk", Duration, 10080, 0, []string{"wk", "wks", "week", "weeks"}},

	{"%", Share, 0.01, 0, []string{"%", "pct", "percent"}},
	{"parts", Parts, 1, 0, []string{"parts", "part"}},
}

// bareCount is the unit of a bare number.
var bareCount = unit{"", Count, 1, 0, nil}

// inContext names units whose sign means something else where a given
// dimension is wanted: "1 h 30 m", "2 c flour", "15 lb" on a gauge.
var inContext = map[Dimension]map[string]string{
	Duration: {"m": "min"},
	Volume:   {"c": "cup"},
	Pressure: {"lb": "psi", "lbs": "psi", "pound": "psi", "pounds": "psi", "#": "psi"},
}

// unclear maps words that have no one size to what to write instead.
var unclear = map[string]string{
	"t":   "write tsp, tbsp or tonne",
	"ton": "write tonne (1000 kg) or short ton (2000 lb)", "tons": "write tonne (1000 kg) or short ton (2000 lb)",
	"deg": "write °C or °F", "degree": "write °C or °F", "degrees": "write °C or °F",
	"psia": "write what the gauge shows above the air outside, in psi", "bara": "write what the gauge shows above the air outside, in bar",
	"pinch": vague, "pinches": vague, "dash": vague, "dashes": vague, "smidgen": vague, "handful": vague, "handfuls": vague,
	"scoop": vague, "scoops": vague, "spoon": vague, "spoons": vague, "spoonful": vague, "splash": vague, "drop": vague, "drops": vague,
	"bit": vague, "some": vague, "sprinkle": vague, "glass": vague,
}

const vague = "weigh it and write g, or write tsp or mL"

var (
	byAlias = indexAliases()
	byName  = indexNames()
)

func indexAliases() map[string]*unit {
	m := make(map[string]*unit)
	for i := range table {
		for _, a := range table[i].aliases {
			m[a] = &table[i]
		}
	}
	return m
}

func indexNames() map[string]*unit {
	m := make(map[string]*unit)
	for i := range table {
		m[table[i].name] = &table[i]
	}
	return m
}

// base turns x of u into the base unit of its dimension.
func (u *unit) base(x float64) float64 { return (x - u.zero) * u.factor }

// from turns v of the base unit into u.
func (u *unit) from(v float64) float64 { return v/u.factor + u.zero }

// limits bound what is taken, in base units. They only keep out slips of the
// finger that would overflow later; each use has closer bounds of its own.
var limits = map[Dimension]struct {
	low, high float64
	unit      string
}{
	Mass:        {0, 1e12, "g"},
	Volume:      {0, 1e12, "mL"},
	Length:      {-1e9, 1e9, "mm"}, // altitudes may lie below the sea
	Temperature: {-273.15, 5000, "°C"},
	Pressure:    {-101325, 1e9, "Pa"}, // a gauge may show a vacuum
	Duration:    {0, 1e8, "min"},
	Share:       {0, 1000, ""},
	Parts:       {0, 1e12, "parts"},
	Count:       {0, 1e12, ""},
}
