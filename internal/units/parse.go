package units

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"pinset/internal/figure"
)

// Quantity is a measured amount, as it was typed and as a number.
type Quantity struct {
	Typed string    // what was typed, unchanged
	Value float64   // in the base unit of Dim: g, mL, mm, °C, Pa, min, share, parts or count
	Dim   Dimension // what it measures
	Unit  string    // the (first) unit typed, spelled as this package prints it; "" for a bare number
}

// Parse reads an amount with its unit: "10 lb 11 oz", "1/2 cup", "1½ tsp",
// "46ml", "121,1 °C", "15 psi", "1 h 30 min", "1:30", "60 %", "3 parts". A
// bare number is a Count.
//
// Units are US customary where they differ from the imperial ones. Anything
// that is not read in one sure way is a *figure.Fault without a field; one
// comma before three digits is asked about. At most 200 bytes are read.
func Parse(s string) (Quantity, error) { return parse(s, "", nil) }

// ParseIn reads s as Parse does, but as an amount of the kind that unit
// measures; a bare number is taken in that unit. ParseIn("12.4", "g") and
// ParseIn("1 oz", "g") are masses. It panics if unit is none of this package.
func ParseIn(s, unit string) (Quantity, error) {
	u := byName[unit]
	if u == nil {
		panic("units: no unit is named " + strconv.Quote(unit))
	}
	return parse(s, u.dim, u)
}

// Known reports whether words name a unit, such as "tbsp" or "fl. oz.".
func Known(words string) bool {
	_, ok := lookup(words, "")
	return ok
}

// Number reads the number at the front of s ("12.4", "12,4", "1 1/2", "½")
// and returns what follows it without leading space. Signs are not read.
func Number(s string) (x float64, rest string, err error) {
	text, err := tidy(s)
	if err != nil {
		return 0, "", err
	}
	x, rest, err = scanNumber(text, s)
	return x, strings.TrimLeft(rest, " \t"), err
}

// At returns err with its Fault pointed at field; other errors as they are.
func At(field string, err error) error {
	var f *figure.Fault
	if !errors.As(err, &f) {
		return err
	}
	g := *f
	g.Field = field
	return &g
}

func parse(s string, want Dimension, bare *unit) (Quantity, error) {
	text, err := tidy(s)
	if err != nil {
		return Quantity{}, err
	}
	if text == "" {
		return Quantity{}, figure.Faultf("", "write a number and a unit, such as "+example(want), "no amount is written")
	}
	q, ok, err := parseClock(text, s)
	if !ok && err == nil {
		q, err = parseParts(text, s, want, bare)
	}
	if err != nil {
		return Quantity{}, err
	}
	q.Typed = s
	if err := q.check(want); err != nil {
		return Quantity{}, err
	}
	return q, nil
}

// parseParts reads one amount, or several of falling size: "10 lb 11 oz".
func parseParts(text, whole string, want Dimension, bare *unit) (Quantity, error) {
	negative := false
	if cut, ok := strings.CutPrefix(text, "-"); ok {
		negative, text = true, strings.TrimLeft(cut, " ")
	}
	text = strings.TrimPrefix(text, "+")
	if text == "" {
		return Quantity{}, noNumber(whole)
	}
	var q Quantity
	var last *unit
	for text != "" {
		x, rest, err := scanNumber(text, whole)
		if err != nil {
			return Quantity{}, err
		}
		if negative {
			x = -x
		}
		words, rest := scanUnit(rest)
		if words == "" && rest != "" {
			return Quantity{}, figure.Faultf("", "write one number without spaces, or a unit after each number", "%s holds two numbers with no unit between them", quote(whole))
		}
		u, err := unitOf(words, whole, want, bare, last)
		if err != nil {
			return Quantity{}, err
		}
		if last == nil {
			q.Dim, q.Unit = u.dim, u.name
		} else if u.dim != last.dim || u.dim == Temperature || !(u.factor < last.factor) || negative {
			return Quantity{}, figure.Faultf("", "write one amount, such as "+example(want), "%s holds two amounts that do not add up (%s and %s)", quote(whole), name(last), name(u))
		}
		q.Value += u.base(x)
		last, text = u, rest
	}
	return q, nil
}

// unitOf finds the unit that words name. Without words it is bare, a count,
// or what follows the hours in "1 h 30" and the feet in 5'10.
func unitOf(words, whole string, want Dimension, bare, last *unit) (*unit, error) {
	if words == "" {
		switch {
		case last == nil && bare != nil:
			return bare, nil
		case last == nil:
			return &bareCount, nil
		case last.name == "h":
			return byName["min"], nil
		case last.name == "ft":
			return byName["in"], nil
		}
		return nil, figure.Faultf("", "write the unit after each number, such as 10 lb 11 oz", "the last number of %s has no unit", quote(whole))
	}
	if last != nil && last.dim != Count {
		want = last.dim
	}
	if u, ok := lookup(words, want); ok {
		return u, nil
	}
	return nil, unknownUnit(words, whole, want)
}

func lookup(words string, want Dimension) (*unit, bool) {
	k := key(words)
	if strings.HasSuffix(words, "-") { // "1 lb - 2 oz"
		return nil, false
	}
	low := strings.ToLower(k)
	if n := inContext[want][low]; n != "" {
		return byName[n], true
	}
	if u := byAlias[k]; u != nil {
		return u, true
	}
	u := byAlias[low]
	return u, u != nil
}

// parseClock reads "1:30" (hours and minutes), "1:30:00", and "1:30 min"
// (minutes and seconds). Ok is false if text has no such form.
func parseClock(text, whole string) (q Quantity, ok bool, err error) {
	n := leadingDigits(text)
	if n == 0 || n == len(text) || text[n] != ':' {
		return q, false, nil
	}
	figures, words, _ := strings.Cut(text, " ")
	fields := strings.Split(figures, ":")
	u := byName["h"]
	if words != "" {
		u = byAlias[strings.ToLower(key(words))]
	}
	fits := u != nil && (u.name == "h" && len(fields) <= 3 || u.name == "min" && len(fields) == 2)
	for i, f := range fields {
		if leadingDigits(f) != len(f) || len(f) > 5 || i > 0 && (len(f) != 2 || f > "59") {
			fits = false
		}
	}
	if !fits {
		return q, false, figure.Faultf("", "write 1:30 for an hour and a half, or 90 min", "%s is not read as a time", quote(whole))
	}
	step := u.factor
	for _, f := range fields {
		x, _ := strconv.ParseFloat(f, 64)
		q.Value += x * step
		step /= 60
	}
	q.Dim, q.Unit = Duration, u.name
	return q, true, nil
}

// check holds q against its limits and the kind wanted.
func (q Quantity) check(want Dimension) error {
	if want != "" && q.Dim != want {
		return wrongKind(q, want)
	}
	const slack = 1e-9 // what String prints of a value at the limit is read again
	l := limits[q.Dim]
	own := math.Abs(q.own())
	if q.Value != 0 && q.Dim != Temperature && !(own >= least && own <= most*(1+slack)) {
		return tooFar(q.Typed)
	}
	if !(q.Value >= l.low*(1+slack) && q.Value <= l.high*(1+slack)) {
		if q.Value < 0 && l.low == 0 {
			return figure.Faultf("", "write an amount of 0 or more", "%s is below 0", quote(q.Typed))
		}
		return figure.Faultf("", "check the number and its unit", "%s is outside of what can be meant (%s to %s)", quote(q.Typed),
			strings.TrimSpace(number(l.low, 6)+" "+l.unit), strings.TrimSpace(number(l.high, 6)+" "+l.unit))
	}
	return nil
}

func wrongKind(q Quantity, want Dimension) error {
	if q.Dim == Count {
		return figure.Faultf("", "add the unit, such as "+example(want), "%s has no unit, a %s is wanted", quote(q.Typed), want)
	}
	mend := "write a " + string(want) + ", such as " + example(want)
	if q.Unit == "oz" && want == Volume {
		mend = "write fl oz for a volume"
	}
	if q.Unit == "fl oz" && want == Mass {
		mend = "weigh it and write oz, or g"
	}
	return figure.Faultf("", mend, "%s is a %s, a %s is wanted", quote(q.Typed), q.Dim, want)
}

// example shows how an amount of a kind is written.
func example(d Dimension) string {
	switch d {
	case Volume:
		return "60 mL or 1/2 cup"
	case Length:
		return "25 mm or 1 in"
	case Temperature:
		return "121 °C or 250 °F"
	case Pressure:
		return "15 psi or 103 kPa"
	case Duration:
		return "90 min or 1 h 30 min"
	case Share:
		return "60 % or 0.6"
	case Parts:
		return "3 parts"
	default:
		return "250 g or 10 lb 11 oz"
	}
}

func name(u *unit) string {
	if u.name == "" {
		return "a bare number"
	}
	return u.name
}
