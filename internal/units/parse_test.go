package units

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// near allows for the rounding of a few float64 operations.
func near(got, want float64) bool {
	return math.Abs(got-want) <= 1e-12*math.Max(1, math.Abs(want))
}

func TestParse(t *testing.T) {
	const cup = 236.5882365 // mL, 1/16 of 231 cubic inches
	const lb = 453.59237    // g
	for _, c := range []struct {
		typed string
		value float64
		dim   Dimension
		unit  string
	}{
		{"10 lb 11 oz", 10*lb + 11*lb/16, Mass, "lb"},
		{"10lb11oz", 171 * lb / 16, Mass, "lb"},
		{"10 lbs., 11 ozs.", 171 * lb / 16, Mass, "lb"},
		{"10 lb and 11 oz", 171 * lb / 16, Mass, "lb"},
		{"10 lb + 11 oz", 171 * lb / 16, Mass, "lb"},
		{"5#", 5 * lb, Mass, "lb"},
		{"5-lb", 5 * lb, Mass, "lb"},
		{"1,5 kg", 1500, Mass, "kg"},
		{"1.5KG", 1500, Mass, "kg"},
		{"0,500 g", 0.5, Mass, "g"},
		{"1500,500 g", 1500.5, Mass, "g"},
		{"1.024 g", 1.024, Mass, "g"},
		{".5 g", 0.5, Mass, "g"},
		{"5. g", 5, Mass, "g"},
		{"250 µg", 250e-6, Mass, "µg"},
		{"2 tonnes", 2e6, Mass, "tonne"},
		{"2 short tons", 4000 * lb, Mass, "short ton"},
		{"1/2 cup", cup / 2, Volume, "cup"},
		{"1 1/2 cups", 1.5 * cup, Volume, "cup"},
		{"1-1/2 cups", 1.5 * cup, Volume, "cup"},
		{"½ cup", cup / 2, Volume, "cup"},
		{"1½ tsp", 1.5 * cup / 48, Volume, "tsp"},
		{"1 ½ tsp", 1.5 * cup / 48, Volume, "tsp"},
		{"11½tsp", 11.5 * cup / 48, Volume, "tsp"},
		{"1⁄3 cup", cup / 3, Volume, "cup"},
		{"46ml", 46, Volume, "mL"},
		{"46 mL", 46, Volume, "mL"},
		{"46 cc", 46, Volume, "mL"},
		{"46 cm³", 46, Volume, "mL"},
		{"46cm3", 46, Volume, "mL"},
		{"46\u00a0mL", 46, Volume, "mL"},
		{"46\u3000mL", 46, Volume, "mL"},
		{"46\u202fmL", 46, Volume, "mL"},
		{"5 tbsp", 5 * cup / 16, Volume, "tbsp"},
		{"1 qt", 4 * cup, Volume, "qt"},
		{"1 pt", 2 * cup, Volume, "pt"},
		{"1 gal", 16 * cup, Volume, "gal"},
		{"8 fl oz", cup, Volume, "fl oz"},
		{"8 fl. oz.", cup, Volume, "fl oz"},
		{"2 cups 3 tbsp", 2*cup + 3*cup/16, Volume, "cup"},
		{"15 psi", 15 * 6894.757293168361, Pressure, "psi"},
		{"15 lb/in²", 15 * 6894.757293168361, Pressure, "psi"},
		{"103 kPa", 103000, Pressure, "kPa"},
		{"0.1 MPa", 100000, Pressure, "MPa"},
		{"1 bar", 100000, Pressure, "bar"},
		{"-20 kPa", -20000, Pressure, "kPa"},
		{"250 °F", 121.0 + 1.0/9, Temperature, "°F"},
		{"250F", 121.0 + 1.0/9, Temperature, "°F"},
		{"250 deg F", 121.0 + 1.0/9, Temperature, "°F"},
		{"250℉", 121.0 + 1.0/9, Temperature, "°F"},
		{"-40 °F", -40, Temperature, "°F"},
		{"−40 °C", -40, Temperature, "°C"},
		{"121,1 °C", 121.1, Temperature, "°C"},
		{"121 ºC", 121, Temperature, "°C"},
		{"300 K", 26.85, Temperature, "K"},
		{"6000 ft", 1828800, Length, "ft"},
		{"1 in", 25.4, Length, "in"},
		{`3.5"`, 88.9, Length, "in"},
		{"3.5″", 88.9, Length, "in"},
		{`5' 10"`, 1778, Length, "ft"},
		{"5’10", 1778, Length, "ft"},
		{"90 min", 90, Duration, "min"},
		{"1 h 30 min", 90, Duration, "h"},
		{"1 h 30 m", 90, Duration, "h"},
		{"1h30", 90, Duration, "h"},
		{"2.5h", 150, Duration, "h"},
		{"1:30", 90, Duration, "h"},
		{"1:30:30", 90.5, Duration, "h"},
		{"1:30 min", 1.5, Duration, "min"},
		{"60 %", 0.6, Share, "%"},
		{"60%", 0.6, Share, "%"},
		{"130 %", 1.3, Share, "%"},
		{"3 parts", 3, Parts, "parts"},
		{"12", 12, Count, ""},
	} {
		q, err := Parse(c.typed)
		if err != nil {
			t.Errorf("Parse(%q): %v", c.typed, err)
			continue
		}
		if !near(q.Value, c.value) || q.Dim != c.dim || q.Unit != c.unit || q.Typed != c.typed {
			t.Errorf("Parse(%q) = %+v, want %v %s in %q", c.typed, q, c.value, c.dim, c.unit)
		}
	}
}

// Each refusal says what is wrong and offers a way out.
func TestParseRefusals(t *testing.T) {
	for _, c := range []struct{ typed, says string }{
		{"", "no amount"},
		{"   ", "no amount"},
		{"a pinch", "tsp"},
		{"-", "number"},
		{"1 pinch", "tsp"},
		{"1,500 g", "1500 g or 1.500 g"},
		{"1.024,5 g", "1024.5 g or 1.0245 g"},
		{"1,024.5 g", "1024.5 g or 1.0245 g"},
		{"1,234,567 g", "1234567 g"},
		{"1.2.3 g", "123 g or 1.23 g"},
		{"1,5.0 g", "15.0 g or 1.50 g"},
		{"1 500 g", "two numbers"},
		{"5 3 oz", "two numbers"},
		{"2 kilograns", "kg"},
		{"2 tablespons", "tbsp"},
		{"12 jars", "not known"},
		{"1-2 cups", "more than one number"},
		{"1 lb - 2 oz", "not known"},
		{"11 oz 10 lb", "do not add up"},
		{"10 lb 11 cups", "do not add up"},
		{"20 °C 5 °C", "do not add up"},
		{"10 lb 11", "no unit"},
		{"1/0 cup", "divides by 0"},
		{"1/2.5 cup", "fraction"},
		{"-5 g", "below 0"},
		{"-300 °C", "outside"},
		{"1e400 g", "not known"},
		{"9999999999999999 g", "outside"},
		{strings.Repeat("9", 190) + " g", "outside"},
		{"0.0000000000000000001 g", "outside"},
		{strings.Repeat("1", 201), "200"},
		{"1:75", "not read as a time"},
		{"1:3", "not read as a time"},
		{"1:30 lb", "not read as a time"},
		{"٣ g", "0 to 9"},
		{"３ g", "0 to 9"},
		{"5² g", "0 to 9"},
		{"5 g\x00", "no letter"},
		{"5 \xff", "no letter"},
		{"2 t", "tonne"},
		{"5 °", "°C or °F"},
		{"15 psia", "gauge"},
		{"NaN", "number"},
		{"inf g", "number"},
		{"g", "number"},
	} {
		q, err := Parse(c.typed)
		var f *figure.Fault
		if !errors.As(err, &f) {
			t.Errorf("Parse(%q) = %+v, %v; want a Fault", c.typed, q, err)
			continue
		}
		if !strings.Contains(f.Error(), c.says) || f.What == "" || f.Mend == "" {
			t.Errorf("Parse(%q) says %q; want it to say %q, and what to do", c.typed, f.Error(), c.says)
		}
	}
}

func TestParseIn(t *testing.T) {
	for _, c := range []struct {
		typed, unit string
		value       float64
		dim         Dimension
	}{
		{"12.4", "g", 12.4, Mass},
		{"1 oz", "g", 28.349523125, Mass},
		{"2", "lb", 907.18474, Mass},
		{"90", "min", 90, Duration},
		{"90 m", "min", 90, Duration},
		{"250", "°F", 121.0 + 1.0/9, Temperature},
		{"15 lb", "psi", 15 * 6894.757293168361, Pressure},
		{"2 c", "mL", 2 * 236.5882365, Volume},
		{"60", "%", 0.6, Share},
	} {
		q, err := ParseIn(c.typed, c.unit)
		if err != nil || !near(q.Value, c.value) || q.Dim != c.dim {
			t.Errorf("ParseIn(%q, %q) = %+v, %v; want %v %s", c.typed, c.unit, q, err, c.value, c.dim)
		}
	}
	if _, err := ParseIn("5 3 oz", "lb"); err == nil {
		t.Error("a bare number before another amount was taken in the default unit")
	}
}

func TestTyped(t *testing.T) {
	if g, err := ParseMass("10 lb 11 oz"); err != nil || !near(float64(g), 4847.768454375) {
		t.Errorf("mass: %v, %v", float64(g), err)
	}
	if v, err := ParseVolume("2 c"); err != nil || !near(float64(v), 473.176473) {
		t.Errorf("volume: %v, %v", float64(v), err)
	}
	if m, err := ParseAltitude("6000 ft"); err != nil || !near(float64(m), 1828.8) {
		t.Errorf("altitude: %v, %v", float64(m), err)
	}
	if l, err := ParseLength("1 in"); err != nil || !near(float64(l), 25.4) {
		t.Errorf("length: %v, %v", float64(l), err)
	}
	if d, err := ParseDuration("90 m"); err != nil || d != 90 {
		t.Errorf("duration: %v, %v", d, err)
	}
	if c, err := ParseTemperature("250F"); err != nil || !near(float64(c), 121.0+1.0/9) {
		t.Errorf("temperature: %v, %v", float64(c), err)
	}
	if p, err := ParsePressure("15 pounds"); err != nil || !near(float64(p), 15*6894.757293168361) {
		t.Errorf("pressure: %v, %v", float64(p), err)
	}
	for typed, want := range map[string]Fraction{"60 %": 0.6, "0.6": 0.6, "1/4": 0.25, "1": 1, "0": 0} {
		if f, err := ParseFraction(typed); err != nil || !near(float64(f), float64(want)) {
			t.Errorf("ParseFraction(%q) = %v, %v; want %v", typed, float64(f), err, float64(want))
		}
	}
}

func TestTypedRefusals(t *testing.T) {
	says := func(what string, err error, words string) {
		t.Helper()
		if err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%s: %v; want %q", what, err, words)
		}
	}
	_, err := ParseMass("12.4")
	says("mass without unit", err, "no unit")
	_, err = ParseMass("1 cup")
	says("volume for mass", err, "volume")
	_, err = ParseVolume("8 oz")
	says("ounces for a volume", err, "fl oz")
	_, err = ParseMass("8 fl oz")
	says("fluid ounces for a mass", err, "weigh")
	_, err = ParseLength("-2 mm")
	says("negative length", err, "below 0")
	_, err = ParseAltitude("60000 ft")
	says("too high", err, "9000 m")
	_, err = ParseFraction("60")
	says("percent without sign", err, "60 %")
	_, err = ParseFraction("130 %")
	says("more than all", err, "100 %")
	_, err = ParseFraction("2 g")
	says("mass for a share", err, "mass")
	_, err = ParseDuration("3 cups")
	says("volume for a time", err, "volume")
	_, err = ParseVolume("3 kupz")
	says("near unit of the kind wanted", err, "cup")
}

func TestAt(t *testing.T) {
	_, err := ParseMass("12")
	var f, g *figure.Fault
	if !errors.As(At("wet_g", err), &f) || f.Field != "wet_g" {
		t.Errorf("At set the field %+v", f)
	}
	if errors.As(err, &g); g.Field != "" {
		t.Error("At changed the error it was given")
	}
	if At("x", nil) != nil {
		t.Error("At made an error of none")
	}
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		typed string
		x     float64
		rest  string
	}{{"2 large", 2, "large"}, {"1½ jumbo", 1.5, "jumbo"}, {"12,5", 12.5, ""}, {"1 1/2 large", 1.5, "large"}} {
		x, rest, err := Number(c.typed)
		if err != nil || x != c.x || rest != c.rest {
			t.Errorf("Number(%q) = %v, %q, %v; want %v, %q", c.typed, x, rest, err, c.x, c.rest)
		}
	}
	if _, _, err := Number("rest"); err == nil {
		t.Error("a number was read from a word")
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"10 lb 11 oz", "1 1/2 cups", "½ cup", "1,500 g", "1.024,5", "121,1 °C", `5' 10"`, "1:30", "60 %", "a pinch", "−", "0H100000000", "0 lb 0.000000000001 mg", "0 °F",
		"−40 °F", "46cm3", "1/0 cup", "1h30", "3 parts", "\u3000", "15 lb/in²", "1-2 cups", "0.000000000001 g", "300 K",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		q, err := Parse(s)
		if err != nil {
			var fault *figure.Fault
			if !errors.As(err, &fault) || fault.What == "" || fault.Mend == "" {
				t.Fatalf("Parse(%q): %#v is not a full Fault", s, err)
			}
			return
		}
		if !(math.Abs(q.Value) < math.Inf(1)) || q.Typed != s {
			t.Fatalf("Parse(%q) = %+v", s, q)
		}
		again, err := Parse(q.String())
		if err != nil {
			t.Fatalf("Parse(%q) prints as %q, which is refused: %v", s, q.String(), err)
		}
		// 12 digits are printed; a temperature loses some to its offset.
		if math.Abs(again.Value-q.Value) > 1e-11*math.Abs(q.Value)+1e-9*offset(q) || again.Dim != q.Dim {
			t.Fatalf("Parse(%q) = %v, printed and read again %v", s, q.Value, again.Value)
		}
		for _, unit := range []string{"g", "mL", "mm", "°F", "psi", "min", "%"} {
			if in, err := ParseIn(s, unit); err == nil && !(math.Abs(in.Value) < math.Inf(1)) {
				t.Fatalf("ParseIn(%q, %q) = %v", s, unit, in.Value)
			}
		}
	})
}

func offset(q Quantity) float64 {
	if q.Dim == Temperature {
		return 1
	}
	return 0
}

func BenchmarkParse(b *testing.B) {
	typed := []string{"10 lb 11 oz", "1 1/2 cups", "46ml", "121,1 °C", "15 psi", "1 h 30 min", "60 %", "½ cup", "250 g", "6000 ft"}
	n := 0
	for _, s := range typed {
		n += len(s)
	}
	b.SetBytes(int64(n))
	for b.Loop() {
		for _, s := range typed {
			if _, err := Parse(s); err != nil {
				b.Fatal(err)
			}
		}
	}
}
