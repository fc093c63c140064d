package units

import (
	"math"
	"strconv"
	"strings"
)

// unknown is printed for a figure that can not be said.
const unknown = "unknown"

// String returns q in the unit it was typed in, to 12 digits. Parse reads it
// back to the same value within 1e-11 of it.
func (q Quantity) String() string {
	x := q.own()
	if q.Dim == Temperature { // 0 °F comes back as 5e-15
		x = math.Round(x*1e9) / 1e9
	}
	return strings.TrimSpace(number(x, 12) + " " + q.Unit)
}

// own returns q's value in q's unit.
func (q Quantity) own() float64 {
	if u := byName[q.Unit]; u != nil {
		return u.from(q.Value)
	}
	return q.Value
}

// In returns q's value in the named unit. It panics if that is no unit of
// q's dimension.
func (q Quantity) In(unit string) float64 {
	u := byName[unit]
	if u == nil || u.dim != q.Dim {
		panic("units: " + string(q.Dim) + " is not measured in " + strconv.Quote(unit))
	}
	return u.from(q.Value)
}

// String returns "250 g", "1.413 kg", "30 mg".
func (g Gram) String() string {
	switch a := math.Abs(float64(g)); {
	case a >= 1000:
		return with(float64(g)/1000, "kg")
	case a > 0 && a < 0.1:
		return with(float64(g)*1000, "mg")
	}
	return with(float64(g), "g")
}

// String returns "60 mL" or "1.893 L".
func (v Millilitre) String() string {
	if math.Abs(float64(v)) >= 1000 {
		return with(float64(v)/1000, "L")
	}
	return with(float64(v), "mL")
}

// String returns "38.1 mm" or "1.2 m".
func (l Millimetre) String() string {
	if math.Abs(float64(l)) >= 1000 {
		return with(float64(l)/1000, "m")
	}
	return with(float64(l), "mm")
}

// String returns "1829 m".
func (m Metre) String() string { return with(float64(m), "m") }

// String returns "121.1 °C", to a tenth.
func (c Celsius) String() string { return tenth(float64(c), "°C") }

// String returns "394.2 K", to a tenth.
func (k Kelvin) String() string { return tenth(float64(k), "K") }

// String returns "103.4 kPa", or Pa below 1 kPa.
func (p Pascal) String() string {
	if math.Abs(float64(p)) >= 1000 {
		return with(float64(p)/1000, "kPa")
	}
	return with(float64(p), "Pa")
}

// String returns "45 s", "90 min" (below two hours), "2 h 30 min", "3.5 d".
func (m Minute) String() string {
	x := float64(m)
	switch a := math.Abs(x); {
	case !(a < math.Inf(1)):
		return unknown
	case a < 1:
		return with(x*60, "s")
	case a < 120:
		return with(x, "min")
	case a >= 2*1440:
		return with(x/1440, "d")
	}
	whole := math.Round(math.Abs(x))
	h, rest := math.Floor(whole/60), math.Mod(whole, 60)
	text := number(math.Copysign(h, x), 6) + " h"
	if rest > 0 {
		text += " " + number(rest, 2) + " min"
	}
	return text
}

// String returns "1200 W".
func (w Watt) String() string { return with(float64(w), "W") }

// String returns "59.91 %".
func (f Fraction) String() string { return with(float64(f)*100, "%") }

// USPrinter is a quantity that can be printed in US customary units.
type USPrinter interface{ US() string }

// FormatUS prints q in US customary units: "3 lb 1.9 oz", "1.5 cups",
// "250 °F", "15 psi", "6000 ft", "3.5 in".
func FormatUS(q USPrinter) string { return q.US() }

// US returns pounds and ounces to a tenth of an ounce.
func (g Gram) US() string {
	oz := float64(g) / (gramsPerPound / 16)
	a := math.Abs(oz)
	if !(a < math.Inf(1)) {
		return unknown
	}
	if a < 1 {
		return with(oz, "oz")
	}
	tenths := math.Round(a * 10)
	lb, rest := math.Floor(tenths/160), math.Mod(tenths, 160)/10
	switch {
	case lb == 0:
		return number(math.Copysign(rest, oz), 4) + " oz"
	case rest == 0:
		return number(math.Copysign(lb, oz), 12) + " lb"
	}
	return number(math.Copysign(lb, oz), 12) + " lb " + number(rest, 4) + " oz"
}

// US returns teaspoons, tablespoons, cups, quarts or gallons, by size.
func (v Millilitre) US() string {
	const cup = mlPerGallon / 16
	x := float64(v)
	switch a := math.Abs(x); {
	case a < cup/16:
		return with(x/(cup/48), "tsp")
	case a < cup/4:
		return with(x/(cup/16), "tbsp")
	case a <= 1.0001*cup && a >= 0.9999*cup:
		return with(x/cup, "cup")
	case a < 4*cup:
		return with(x/cup, "cups")
	case a < 16*cup:
		return with(x/(4*cup), "qt")
	}
	return with(x/mlPerGallon, "gal")
}

// US returns inches, or feet from 10 ft.
func (l Millimetre) US() string {
	if in := float64(l) / mmPerInch; math.Abs(in) < 120 {
		return with(in, "in")
	}
	return with(float64(l)/(12*mmPerInch), "ft")
}

// US returns feet.
func (m Metre) US() string { return with(float64(m)/0.3048, "ft") }

// US returns degrees Fahrenheit, to a tenth.
func (c Celsius) US() string { return tenth(byName["°F"].from(float64(c)), "°F") }

// US returns pounds per square inch.
func (p Pascal) US() string { return with(float64(p)/pascalsPerPSI, "psi") }

// US is the same as String: minutes are minutes.
func (m Minute) US() string { return m.String() }

// US is the same as String.
func (f Fraction) US() string { return f.String() }

// with prints x to four digits, and to the unit from 1000 up.
func with(x float64, unit string) string {
	if !(math.Abs(x) < math.Inf(1)) {
		return unknown
	}
	return number(x, 4) + " " + unit
}

func tenth(x float64, unit string) string {
	if !(math.Abs(x) < math.Inf(1)) {
		return unknown
	}
	return number(math.Round(x*10)/10, 15) + " " + unit
}

// number prints x to the given significant digits, never with an exponent,
// never cutting digits before the decimal point, without trailing zeros.
func number(x float64, digits int) string {
	if x == 0 || !(math.Abs(x) < math.Inf(1)) {
		return "0"
	}
	decimals := max(0, digits-1-int(math.Floor(math.Log10(math.Abs(x)))))
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}
