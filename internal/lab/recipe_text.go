package lab

import (
	"regexp"
	"strings"

	"pinset/internal/units"
)

// ParseRecipe reads mixes like "broth to 1 L: 20 g malt extract, 3 g yeast
// extract" and fills like "48 mL broth".
func ParseRecipe(mixes, fills []string) ([]Mix, []Fill, error) {
	var outMixes []Mix
	for _, text := range mixes {
		m, err := parseMix(text)
		if err != nil {
			return nil, nil, err
		}
		outMixes = append(outMixes, m)
	}
	var outFills []Fill
	for _, text := range fills {
		line, err := ParseRecipeLine(text)
		if err != nil {
			return nil, nil, err
		}
		outFills = append(outFills, Fill{Mix: line.Ingredient, Amount: line.Amount})
	}
	return outMixes, outFills, nil
}

var madeUp = regexp.MustCompile(`^(.+?)\s+to\s+(\S.*)$`)

func parseMix(text string) (Mix, error) {
	name, lines, ok := strings.Cut(text, ":")
	if !ok {
		return Mix{}, Invalidf("mix", "write it like 'grain: 40 g oats' or 'broth to 1 L: 20 g malt extract'", "%q has no colon after the name of the mix", text)
	}
	m := Mix{Name: strings.TrimSpace(name)}
	if parts := madeUp.FindStringSubmatch(m.Name); parts != nil {
		m.Name, m.MakeUpTo = parts[1], parts[2]
	}
	var err error
	parted := ", "
	if strings.Contains(lines, ";") { // names such as "malt extract, dry" hold a comma
		parted = ";"
	}
	m.Lines, err = ParseRecipeLines(strings.ReplaceAll(lines, parted, "\n"))
	return m, err
}

// ParseRecipeLines reads one line for each ingredient, the amount first;
// blank lines do not count.
func ParseRecipeLines(text string) ([]RecipeLine, error) {
	var out []RecipeLine
	for line := range strings.Lines(text) {
		if strings.TrimSpace(line) == "" {
			continue
		}
		l, err := ParseRecipeLine(line)
		if err != nil {
			return nil, err
		}
		out = append(out, l)
	}
	return out, nil
}

// ParseRecipeLine reads an amount and what it is of: "20 g malt extract",
// "1/2 cup oats", "3 parts bran", "2 large eggs", "rest water".
func ParseRecipeLine(text string) (RecipeLine, error) {
	words := strings.Fields(text)
	if len(words) >= 2 && strings.EqualFold(words[0], "rest") {
		return RecipeLine{Amount: "rest", Ingredient: strings.Join(words[1:], " ")}, nil
	}
	for n := min(len(words)-1, 6); n >= 1; n-- { // the longest start that is an amount
		amount, of := strings.Join(words[:n], " "), strings.Join(words[n:], " ")
		if endsLikeAmount(words[:n]) && isAmount(amount) && !units.Known(of) {
			return RecipeLine{Amount: amount, Ingredient: of}, nil
		}
	}
	return RecipeLine{}, noAmount(text, words)
}

// endsLikeAmount reports whether the last word can end an amount: a number
// with or without a unit, a unit, or a size. It saves most of the work of
// isAmount, which looks for what an unknown unit may have been meant to be.
func endsLikeAmount(words []string) bool {
	last := words[len(words)-1]
	if strings.ContainsAny(last, "0123456789½¼¾⅓⅔⅛⅜⅝⅞%") || countWords[strings.ToLower(last)] || units.Known(last) {
		return true
	}
	return len(words) > 1 && units.Known(words[len(words)-2]+" "+last)
}

// countWords end a count, parts or a percentage.
var countWords = map[string]bool{
	"part": true, "parts": true, "%": true, "small": true, "medium": true, "large": true, "xl": true, "jumbo": true,
}

// isAmount reports whether s is a measured quantity, a count by size class,
// parts or a percentage.
func isAmount(s string) bool {
	if _, err := units.Parse(s); err == nil {
		return true
	}
	_, rest, err := units.Number(s)
	if err != nil {
		return false
	}
	words := strings.ToLower(strings.TrimSpace(rest))
	return countWords[words] || words == "extra large"
}

// noAmount is the Problem of a line that does not begin with an amount. Where
// it seems to, it says what is wrong with that.
func noAmount(text string, words []string) error {
	if len(words) > 2 && (strings.ContainsAny(words[0], "0123456789") || strings.EqualFold(words[0], "a") || strings.EqualFold(words[0], "NaN")) {
		_, err := units.Parse(words[0] + " " + words[1])
		if p, ok := AsProblem(err); ok {
			return Invalidf("lines", p.Mend, "%q: %s", strings.TrimSpace(text), p.What)
		}
	}
	return Invalidf("lines", "write the amount first, such as 20 g malt extract or 1/2 cup oats; part lines by ; where a name has a comma", "%q does not begin with an amount", strings.TrimSpace(text))
}
