package units

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"pinset/internal/figure"
)

// maxBytes bounds what is read as one quantity.
const maxBytes = 200

// least and most bound a number as typed, other than 0.
const (
	least = 1e-12
	most  = 1e12
)

// vulgar holds the fractions that keyboards offer as one sign.
var vulgar = map[rune]string{
	'½': "1/2", '⅓': "1/3", '⅔': "2/3", '¼': "1/4", '¾': "3/4",
	'⅕': "1/5", '⅖': "2/5", '⅗': "3/5", '⅘': "4/5", '⅙': "1/6", '⅚': "5/6",
	'⅐': "1/7", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8", '⅑': "1/9", '⅒': "1/10",
}

// lookalike holds signs that stand for plain ones.
var lookalike = map[rune]string{
	'−': "-", '–': "-", '‐': "-", '‑': "-", '⁄': "/", '∕': "/",
	'′': "'", '’': "'", '‘': "'", '″': `"`, '”': `"`, '“': `"`,
	'°': "deg", 'º': "deg", '˚': "deg", '℃': "degC", '℉': "degF",
	'µ': "u", 'μ': "u", '％': "%", '²': "2", '³': "3", 'ℓ': "l",
}

// tidy returns s with one kind of space, minus, quote and fraction.
func tidy(s string) (string, error) {
	if len(s) > maxBytes {
		return "", figure.Faultf("", "write one amount and its unit, such as 250 g", "the text is %d bytes long, at most %d are read as one amount", len(s), maxBytes)
	}
	if plain(s) {
		return strings.Trim(s, " \t"), nil
	}
	var b strings.Builder
	last := ' '
	for i, r := range s {
		switch {
		case r == utf8.RuneError && !strings.HasPrefix(s[i:], "\uFFFD"), unicode.IsControl(r) && r != '\t':
			return "", figure.Faultf("", "type the amount anew, such as 250 g", "%s holds a byte that is no letter, digit or sign", quote(s))
		case unicode.IsSpace(r) || r == '\u2060' || r == '\ufeff':
			b.WriteByte(' ')
		case vulgar[r] != "":
			b.WriteString(" " + vulgar[r])
		case (r == '²' || r == '³') && !unicode.IsLetter(last):
			return "", foreignDigit(s, r)
		case lookalike[r] != "":
			b.WriteString(lookalike[r])
		case r > unicode.MaxASCII && unicode.IsNumber(r):
			return "", foreignDigit(s, r)
		default:
			b.WriteRune(r)
		}
		last = r
	}
	return strings.TrimSpace(b.String()), nil
}

func foreignDigit(s string, r rune) error {
	return figure.Faultf("", "write it with the digits 0 to 9", "%s holds the digit %c, which is not read", quote(s), r)
}

// plain reports whether s is printable ASCII and tabs only.
func plain(s string) bool {
	for i := range len(s) {
		if c := s[i]; c != '\t' && (c < ' ' || c > '~') {
			return false
		}
	}
	return true
}

func digit(c byte) bool { return '0' <= c && c <= '9' }

// leadingDigits returns how many digits s begins with.
func leadingDigits(s string) int {
	n := 0
	for n < len(s) && digit(s[n]) {
		n++
	}
	return n
}

// scanNumber reads the number that s begins with: "12", "12.4", "12,4",
// "1/2", "1 1/2", "1-1/2". It returns what follows. Whole is s, for messages.
func scanNumber(s, whole string) (x float64, rest string, err error) {
	n := leadingDigits(s)
	if n > 0 {
		if x, rest, ok, err := scanFraction(s, n, whole); ok || err != nil {
			return x, rest, err
		}
	}
	text, rest, err := scanDecimal(s, whole)
	if err != nil {
		return 0, "", err
	}
	x, err = strconv.ParseFloat(text, 64)
	if err != nil { // 200 digits stay within range, so text has none
		return 0, "", noNumber(whole)
	}
	if x != 0 && !(x >= least && x <= most*(1+1e-9)) {
		return 0, "", tooFar(whole)
	}
	return x, rest, nil
}

func tooFar(whole string) error {
	return figure.Faultf("", "check the number and its unit", "%s is outside of what can be meant", quote(whole))
}

// scanFraction reads "1/2", "1 1/2" and "1-1/2"; n digits stand first. Ok is
// false if s does not begin with a fraction.
func scanFraction(s string, n int, whole string) (x float64, rest string, ok bool, err error) {
	lead, frac := "", s
	if n < len(s) && (s[n] == ' ' || s[n] == '-') {
		lead, frac = s[:n], strings.TrimLeft(s[n:], " ")
		frac = strings.TrimPrefix(frac, "-")
	}
	up := leadingDigits(frac)
	if up == 0 || up >= len(frac) || frac[up] != '/' {
		return 0, "", false, nil
	}
	down := leadingDigits(frac[up+1:])
	if down == 0 {
		return 0, "", false, nil
	}
	rest = frac[up+1+down:]
	if up > 6 || down > 6 || len(lead) > 12 || strings.HasPrefix(rest, ".") && len(rest) > 1 && digit(rest[1]) || strings.HasPrefix(rest, ",") && len(rest) > 1 && digit(rest[1]) {
		return 0, "", false, figure.Faultf("", "write it as a decimal number, such as 1.5", "the fraction in %s can not be read", quote(whole))
	}
	over, _ := strconv.ParseFloat(frac[:up], 64)
	under, _ := strconv.ParseFloat(frac[up+1:up+1+down], 64)
	if !(under > 0) {
		return 0, "", false, figure.Faultf("", "write a fraction such as 1/2, or a decimal number", "the fraction in %s divides by 0", quote(whole))
	}
	if lead != "" {
		x, _ = strconv.ParseFloat(lead, 64)
	}
	return x + over/under, rest, true, nil
}

// scanDecimal returns the number at the front of s as text with a decimal
// point. One comma or one point is a decimal sign, unless the comma could be
// a thousands sign as well.
func scanDecimal(s, whole string) (text, rest string, err error) {
	end := 0
	for end < len(s) && (digit(s[end]) || (s[end] == '.' || s[end] == ',') && end+1 < len(s) && digit(s[end+1])) {
		end++
	}
	text, rest = s[:end], s[end:]
	if text == "" {
		return "", "", noNumber(whole)
	}
	if strings.HasPrefix(rest, ".") && !strings.ContainsAny(text, ".,") {
		rest = rest[1:] // "5. g"
	}
	commas, points := strings.Count(text, ","), strings.Count(text, ".")
	if commas == 0 && points <= 1 {
		return text, rest, nil
	}
	if commas == 1 && points == 0 {
		at := strings.IndexByte(text, ',')
		if len(text)-at-1 != 3 || at > 3 || at == 0 || text[0] == '0' {
			return text[:at] + "." + text[at+1:], rest, nil
		}
	}
	return "", "", twoReadings(text, rest, whole)
}

// twoReadings asks which of the two numbers that text can be is meant.
func twoReadings(text, rest, whole string) error {
	cut := strings.LastIndexAny(text, ".,")
	strip := strings.NewReplacer(".", "", ",", "")
	long := strip.Replace(text)
	first := strings.IndexAny(text, ".,")
	short := text[:first] + "." + strip.Replace(text[first+1:])
	if strings.Count(text, ".") > 0 && strings.Count(text, ",") > 0 { // mixed: the last sign is the decimal one, or none is
		long = strip.Replace(text[:cut]) + "." + text[cut+1:]
	}
	if short[0] == '.' {
		short = "0" + short
	}
	rest = clip(rest)
	return figure.Faultf("", "write "+long+rest+" or "+short+rest+", with one decimal sign and no thousands sign",
		"%s can be read as %s%s or as %s%s", quote(whole), long, rest, short, rest)
}

func noNumber(whole string) error {
	word := strings.ToLower(whole[strings.LastIndexAny(whole, " \t")+1:])
	if mend := unclear[word]; mend != "" {
		return figure.Faultf("", mend+", such as 1/8 tsp", "%s has neither a number nor a unit of fixed size", quote(whole))
	}
	return figure.Faultf("", "write a number and a unit, such as 250 g or 1 1/2 cups", "%s does not begin with a number", quote(whole))
}

// scanUnit returns the words up to the next number, and the rest from there.
func scanUnit(s string) (words, rest string) {
	i := 0
	for i < len(s) && !startsNumber(s, i) {
		i++
	}
	return trimJoin(s[:i]), s[i:]
}

// startsNumber reports whether a new number begins at s[i]. The digit of
// "cm3" and "lb/in2" does not.
func startsNumber(s string, i int) bool {
	c := s[i]
	if c == '.' {
		return i+1 < len(s) && digit(s[i+1]) && (i == 0 || s[i-1] == ' ')
	}
	if !digit(c) {
		return false
	}
	if (c == '2' || c == '3') && (i+1 == len(s) || !digit(s[i+1]) && s[i+1] != '.' && s[i+1] != ',' && s[i+1] != '/') {
		before := strings.ToLower(s[max(0, i-3):i])
		if strings.HasSuffix(before, "cm") || strings.HasSuffix(before, "dm") || strings.HasSuffix(before, "/in") {
			return false
		}
	}
	return true
}

// trimJoin takes away what may stand between "10 lb" and "11 oz".
func trimJoin(words string) string {
	words = strings.Trim(words, " \t")
	for _, join := range []string{",", "+", "&", " and"} {
		if cut, ok := strings.CutSuffix(words, join); ok {
			return strings.TrimRight(cut, " \t")
		}
	}
	return words
}

// key is words without spaces and dots, as aliases are written.
func key(words string) string {
	if !strings.ContainsAny(words, " \t.-") {
		return words
	}
	return strings.NewReplacer(" ", "", "\t", "", ".", "", "-", "").Replace(words)
}

// quote shows what was typed, cut short.
func quote(s string) string { return "“" + clip(strings.ToValidUTF8(s, "?")) + "”" }

func clip(s string) string { return figure.Clip(s, 40) }
