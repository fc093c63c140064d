package units

import (
	"fmt"
	"math"
	"testing"
)

func TestString(t *testing.T) {
	for _, c := range []struct {
		q    fmt.Stringer
		want string
	}{
		{Gram(0), "0 g"},
		{Gram(250), "250 g"},
		{Gram(1413.4), "1.413 kg"},
		{Gram(0.03), "30 mg"},
		{Gram(453.59237), "453.6 g"},
		{Gram(12345678), "12346 kg"},
		{Millilitre(60), "60 mL"},
		{Millilitre(1892.7), "1.893 L"},
		{Millimetre(38.1), "38.1 mm"},
		{Millimetre(1200), "1.2 m"},
		{Metre(1828.8), "1829 m"},
		{Celsius(121.1111), "121.1 °C"},
		{Celsius(-0.01), "0 °C"},
		{Kelvin(394.25), "394.3 K"},
		{Pascal(103421), "103.4 kPa"},
		{Pascal(12), "12 Pa"},
		{Minute(0.75), "45 s"},
		{Minute(90), "90 min"},
		{Minute(119.99), "120 min"},
		{Minute(150), "2 h 30 min"},
		{Minute(179.9), "3 h"},
		{Minute(5040), "3.5 d"},
		{Watt(1200), "1200 W"},
		{Fraction(0.59908), "59.91 %"},
		{Gram(math.NaN()), "unknown"},
		{Celsius(math.Inf(1)), "unknown"},
		{Minute(math.NaN()), "unknown"},
	} {
		if got := c.q.String(); got != c.want {
			t.Errorf("%T %v prints as %q, want %q", c.q, c.q, got, c.want)
		}
	}
}

func TestFormatUS(t *testing.T) {
	for _, c := range []struct {
		q    USPrinter
		want string
	}{
		{Gram(1413.43), "3 lb 1.9 oz"},
		{Gram(453.59237), "1 lb"},
		{Gram(453.0), "1 lb"}, // 15.98 oz rounds up to the next pound
		{Gram(100), "3.5 oz"},
		{Gram(5), "0.1764 oz"},
		{Millilitre(5), "1.014 tsp"},
		{Millilitre(29.57), "2 tbsp"},
		{Millilitre(236.588), "1 cup"},
		{Millilitre(354.88), "1.5 cups"},
		{Millilitre(946.353), "1 qt"},
		{Millilitre(7570.8), "2 gal"},
		{Celsius(121.1111), "250 °F"},
		{Pascal(103421.36), "15 psi"},
		{Millimetre(88.9), "3.5 in"},
		{Metre(1828.8), "6000 ft"},
		{Minute(90), "90 min"},
		{Fraction(0.6), "60 %"},
		{Gram(math.NaN()), "unknown"},
	} {
		if got := FormatUS(c.q); got != c.want {
			t.Errorf("%T %v prints as %q, want %q", c.q, c.q, got, c.want)
		}
	}
}

// What is printed is read again as the same kind of quantity.
func TestPrintedIsRead(t *testing.T) {
	for _, s := range []string{Gram(1413.43).US(), Gram(0.03).String(), Millilitre(354.88).US(), Millilitre(29.57).US(), Millimetre(88.9).US(), Minute(150).String(), Minute(5040).String(), Celsius(-40).US(), Fraction(0.6).String(), Pascal(103421).String()} {
		if _, err := Parse(s); err != nil {
			t.Errorf("%q is printed and then refused: %v", s, err)
		}
	}
}

// NIST SP 811 (2008), appendix B.8, as printed there: seven digits, so the
// tolerance is half of the last one.
func TestFactorsNIST(t *testing.T) {
	for _, c := range []struct {
		typed string
		base  float64
	}{
		{"1 lb", 4.535924e2},                                                                                                    // pound (avoirdupois), g
		{"1 oz", 2.834952e1},                                                                                                    // ounce (avoirdupois), g
		{"1 short ton", 9.071847e5},                                                                                             // ton, short (2000 lb), g
		{"1 tonne", 1e6},                                                                                                        // ton, metric, g
		{"1 cup", 2.365882e2},                                                                                                   // cup (U.S.), mL
		{"1 fl oz", 2.957353e1},                                                                                                 // ounce (U.S. fluid), mL
		{"1 gal", 3.785412e3},                                                                                                   // gallon (U.S.), mL
		{"1 imperial gallon", 4.54609e3},                                                                                        // gallon (Canadian and U.K.), mL, exact
		{"1 pt", 4.731765e2},                                                                                                    // pint (U.S. liquid), mL
		{"1 qt", 9.463529e2},                                                                                                    // quart (U.S. liquid), mL
		{"1 tbsp", 1.478676e1},                                                                                                  // tablespoon, mL
		{"1 tsp", 4.928922},                                                                                                     // teaspoon, mL
		{"1 in", 25.4},                                                                                                          // inch, mm, exact
		{"1 ft", 304.8},                                                                                                         // foot, mm, exact
		{"1 yd", 914.4},                                                                                                         // yard, mm, exact
		{"1 psi", 6.894757e3},                                                                                                   // pound-force per square inch, Pa
		{"1 atm", 1.01325e5},                                                                                                    // atmosphere, standard, Pa, exact
		{"1 bar", 1e5},                                                                                                          // bar, Pa, exact
		{"1 mbar", 1e2},                                                                                                         // millibar, Pa, exact
		{"1 mmHg", 1.333224e2},                                                                                                  // millimeter of mercury, conventional, Pa
		{"1 inHg", 3.386389e3},                                                                                                  // inch of mercury, conventional, Pa
		{"1 mg", 1e-3}, {"1 µL", 1e-3}, {"1 cL", 10}, {"1 dL", 100}, {"1 cm", 10}, {"1 m", 1000}, {"1 km", 1e6}, {"1 hPa", 100}, // SI prefixes, exact
		{"1 d", 1440}, {"1 wk", 10080}, {"3 s", 0.05}, // day, week, second in min, exact
		{"1 kgf/cm2", 9.80665e4}, // kilogram-force per square centimeter, Pa, exact
	} {
		q, err := Parse(c.typed)
		if err != nil {
			t.Errorf("Parse(%q): %v", c.typed, err)
			continue
		}
		digit := math.Pow(10, math.Floor(math.Log10(c.base))-6)
		if d := math.Abs(q.Value - c.base); d > 0.500001*digit {
			t.Errorf("%s = %.9g, want %.7g; off by %.2g", c.typed, q.Value, c.base, d)
		}
	}
	// B.9: t/°C = (t/°F - 32)/1.8.
	for f, want := range map[string]float64{"32 °F": 0, "212 °F": 100, "0 °F": -32 / 1.8} {
		if q, err := Parse(f); err != nil || !near(q.Value, want) {
			t.Errorf("%s = %v °C, %v; want %v", f, q.Value, err, want)
		}
	}
}

// The masses of a weighed batch: dry, wet, and one of seven bags.
func TestBatchByThePound(t *testing.T) {
	dry, err1 := ParseMass("10 lb 11 oz")
	wet, err2 := ParseMass("21 lb 13 oz")
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	if r := float64(wet / dry); math.Abs(r-2.04) > 0.01 {
		t.Errorf("wet to dry %.4f, want 2.04", r)
	}
	bag := wet / 7
	if math.Abs(float64(bag)-1413) > 2 || FormatUS(bag) != "3 lb 1.9 oz" {
		t.Errorf("one bag %.1f g, %s; want 1413 g, 3 lb 1.9 oz", float64(bag), FormatUS(bag))
	}
}

func TestEveryUnitReadsItself(t *testing.T) {
	seen := map[string]string{}
	for _, u := range table {
		q, err := Parse("2 " + u.name)
		if err != nil || q.Unit != u.name || q.Dim != u.dim {
			t.Errorf("2 %s is read as %+v, %v", u.name, q, err)
		}
		for _, a := range u.aliases {
			if other, twice := seen[a]; twice {
				t.Errorf("%q names both %s and %s", a, other, u.name)
			}
			seen[a] = u.name
		}
		if x := u.from(u.base(7)); !near(x, 7) {
			t.Errorf("7 %s comes back as %v", u.name, x)
		}
	}
}
