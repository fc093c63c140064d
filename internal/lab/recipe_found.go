package lab

import (
	"regexp"
	"slices"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// Found is a recipe as somebody else wrote it down.
type Found struct {
	Lines  []RecipeLine
	Claims []Claim
	Unread []string // what is neither an amount of something nor a claim, kept as it stands
}

// Claim is a figure that came with a recipe.
type Claim struct {
	Of    string  // "moisture_pct", "cn", "n_pct_of_dry", "ml_per_g" or "ph"
	Value float64 // in the unit that Of names
	Typed string
}

// Bounds of a pasted recipe.
const (
	maxFoundBytes = 1 << 20
	maxFoundLines = 200
)

// ParseFound reads a recipe pasted as text, such as "2 cups oats, 1 tbsp
// gypsum, 60 % moisture". Lines and commas part it; what can not be read is
// kept in Unread, so that nothing is lost. More than 1 MB or 200 amounts are
// an Invalid Problem.
func ParseFound(text string) (Found, error) {
	var f Found
	if len(text) > maxFoundBytes {
		return f, Invalidf("text", "paste the recipe alone", "the text is %d kB long, up to %d kB are read", len(text)>>10, maxFoundBytes>>10)
	}
	for line := range strings.Lines(text) {
		for piece := range pieces(line) {
			f.read(piece)
			if len(f.Lines) > maxFoundLines {
				return Found{}, Invalidf("text", "split it into several recipes", "the text has more than %d amounts", maxFoundLines)
			}
			if len(f.Unread) > maxFoundLines {
				return Found{}, Invalidf("text", "paste the lines with the amounts alone", "more than %d lines of the text name no amount, the first %q", maxFoundLines, figure.Clip(f.Unread[0], 40))
			}
		}
	}
	return f, nil
}

// pieces parts a line at semicolons, at commas that are not within a number,
// and at a plus between two amounts.
func pieces(line string) func(func(string) bool) {
	return func(yield func(string) bool) {
		start := 0
		for i := 0; i < len(line); i++ {
			if line[i] != ';' && line[i] != ',' {
				continue
			}
			if line[i] == ',' && (i+1 >= len(line) || line[i+1] != ' ') { // "1,5 g"
				continue
			}
			if line[i] == ',' && !amountFollows(line[i+1:]) { // "rice, brown"
				continue
			}
			if !yield(line[start:i]) {
				return
			}
			start = i + 1
		}
		yield(line[start:])
	}
}

// amountFollows reports whether s begins like an amount or a claim: with a
// digit, a fraction, or one of the words that claims begin with.
func amountFollows(s string) bool {
	s = strings.TrimLeft(s, " \t")
	if s == "" {
		return true
	}
	if s[0] >= '0' && s[0] <= '9' || strings.ContainsRune("½¼¾⅓⅔⅛⅜⅝⅞~≈", firstRune(s)) {
		return true
	}
	word, _, _ := strings.Cut(strings.ToLower(clipBytes(s, 16)), " ")
	switch strings.Trim(word, ".:=") {
	case "moisture", "c:n", "c/n", "cn", "ph", "nitrogen", "about", "rest", "claim", "water":
		return true
	}
	return false
}

func firstRune(s string) rune {
	for _, r := range s {
		return r
	}
	return 0
}

func clipBytes(s string, n int) string {
	if len(s) <= n {
		return s
	}
	return s[:n]
}

var (
	bullet = regexp.MustCompile(`^\s*(?:[-–—*•·]|\d{1,2}[.)]\s)\s*`)

	// The figure first or last: "60 % moisture", "moisture: 60 %", "C:N 30", "30:1 C:N".
	moistureClaim = regexp.MustCompile(`(?i)^(?:(?:about|ca\.?|~|≈)\s*)?([0-9][0-9.,]*)\s*(?:%|percent|per cent)\s*(?:final\s+)?(?:moisture|water content|humidity|wet)\.?$|^(?:final\s+|target\s+)?(?:moisture(?:\s+content)?|water content)\s*(?:of|is|[:=])?\s*(?:about|ca\.?|~|≈)?\s*([0-9][0-9.,]*)\s*(?:%|percent|per cent)\.?$`)
	cnClaim       = regexp.MustCompile(`(?i)^c\s*[:/]?\s*n(?:\s+ratio)?\s*(?:of|is|[:=])?\s*(?:about|~|≈)?\s*([0-9][0-9.,]*)(?:\s*:\s*1)?\.?$|^([0-9][0-9.,]*)\s*(?::\s*1)?\s*c\s*[:/]\s*n\.?$`)
	nClaim        = regexp.MustCompile(`(?i)^(?:([0-9][0-9.,]*)\s*%\s*(?:nitrogen|n)|(?:nitrogen|n)\s*(?:of|is|[:=])?\s*([0-9][0-9.,]*)\s*%)(?:\s+of dry(?: matter| mass)?)?\.?$`)
	ratioClaim    = regexp.MustCompile(`(?i)^([0-9][0-9.,]*)\s*ml\s*(?:/|per)\s*g\b.*$|^1\s*:\s*([0-9][0-9.,]*)$`)
	phClaim       = regexp.MustCompile(`(?i)^ph\s*(?:of|is|[:=])?\s*([0-9][0-9.,]*)\.?$`)
)

// read takes one piece as a claim, an amount, or text.
func (f *Found) read(piece string) {
	piece = strings.TrimSpace(piece)
	if piece = strings.TrimSpace(bullet.ReplaceAllString(piece, "")); piece == "" {
		return
	}
	if c, ok := claimIn(piece); ok {
		f.Claims = append(f.Claims, c)
		return
	}
	l, err := ParseRecipeLine(trimOf(piece))
	if l.Ingredient = strings.TrimRight(l.Ingredient, " ."); err == nil && l.Ingredient != "" {
		f.Lines = append(f.Lines, l)
		return
	}
	if l, ok := amountLast(piece); ok {
		f.Lines = append(f.Lines, l)
		return
	}
	f.Unread = append(f.Unread, figure.Clip(piece, 200))
}

var claims = []struct {
	of string
	re *regexp.Regexp
}{{"moisture_pct", moistureClaim}, {"cn", cnClaim}, {"n_pct_of_dry", nClaim}, {"ml_per_g", ratioClaim}, {"ph", phClaim}}

// hints are what one of stands in every claim, so that the lines of a recipe
// are not held against all patterns.
var hints = []string{"moist", "content", "humid", "wet", "c:n", "c/n", "cn", "c n", "nitrogen", "% n", "%n", "ml", ":", "ph"}

func claimIn(piece string) (Claim, bool) {
	const longest = 80
	if len(piece) > longest {
		return Claim{}, false
	}
	low := strings.ToLower(piece)
	if !slices.ContainsFunc(hints, func(h string) bool { return strings.Contains(low, h) }) {
		return Claim{}, false
	}
	for _, c := range claims {
		if v, ok := figureOf(c.re, piece); ok {
			return Claim{Of: c.of, Value: v, Typed: piece}, true
		}
	}
	return Claim{}, false
}

func figureOf(re *regexp.Regexp, piece string) (float64, bool) {
	m := re.FindStringSubmatch(piece)
	if m == nil {
		return 0, false
	}
	for _, text := range m[1:] {
		if text == "" {
			continue
		}
		x, rest, err := units.Number(strings.TrimRight(text, ".,"))
		return x, err == nil && rest == ""
	}
	return 0, false
}

// trimOf takes the "of" out of "2 cups of oats".
func trimOf(piece string) string { return of.ReplaceAllString(piece, "$1 ") }

var (
	of   = regexp.MustCompile(`(?i)^(\S+(?:\s+\S+){0,3}?)\s+of\s+`)
	last = regexp.MustCompile(`^(.*[^\s:=–-])\s*[:=–-]\s*(\S.*)$`)
)

// amountLast reads "oats: 2 cups".
func amountLast(piece string) (RecipeLine, bool) {
	m := last.FindStringSubmatch(piece)
	if m == nil || !isAmount(m[2]) || len(m[1]) > maxName {
		return RecipeLine{}, false
	}
	return RecipeLine{Ingredient: strings.TrimSpace(m[1]), Amount: strings.TrimSpace(m[2])}, true
}
