package lab

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/figure"
)

// Code is what a jar's label says, such as "K73QF". Codes are never reused.
type Code string

// CodeAlphabet holds the characters of codes. Of each pair that is mistaken
// for another on a wet label at most one is in it: no 0 or O, no 1, I or L;
// and B, S, Z are read as 8, 5, 2.
const CodeAlphabet = "23456789ACDEFGHJKMNPQRTUVWXY"

// CodeLength is how many characters a code has.
const CodeLength = 5

var codeForgives = strings.NewReplacer("B", "8", "S", "5", "Z", "2", " ", "", "-", "", "·", "")

// ParseCode reads a code as typed: case, spaces and dashes do not count, and
// B, S, Z stand for 8, 5, 2. Otherwise the error is an Invalid Problem.
func ParseCode(s string) (Code, error) {
	c := codeForgives.Replace(strings.ToUpper(strings.TrimSpace(s)))
	if len(c) != CodeLength {
		return "", Invalidf("code", "read it off the label again, or write batch and number like B12·13", "%q is not a code: codes have %d characters", figure.Clip(s, 20), CodeLength)
	}
	for _, r := range c {
		if !strings.ContainsRune(CodeAlphabet, r) {
			return "", Invalidf("code", "read it off the label again, or write batch and number like B12·13", "%q is not a code: %q is never in one", figure.Clip(s, 20), r)
		}
	}
	return Code(c), nil
}

// CodeCount is how many codes there are: 28⁵.
const CodeCount = 28 * 28 * 28 * 28 * 28

// CodeOf returns code n modulo CodeCount: the number written with
// CodeAlphabet as its digits.
func CodeOf(n uint64) Code {
	b := make([]byte, CodeLength)
	for i := CodeLength - 1; i >= 0; i-- {
		b[i] = CodeAlphabet[n%uint64(len(CodeAlphabet))]
		n /= uint64(len(CodeAlphabet))
	}
	return Code(b)
}

// Span names jars the way growers do: "B12·13–24, 30", "B12" for all of a
// batch, or codes. Either Batch or Codes is set, not both.
type Span struct {
	Batch   string // "B12" or the batch's own name
	Numbers []int  // ascending; nil means all of the batch
	Codes   []Code
}

// maxSpan bounds the jars that one span may name.
const maxSpan = 100000

// ParseSpan reads a span: a batch, then numbers and ranges after "·", ".",
// ":" or "/", or one or more codes. Otherwise the error is an Invalid
// Problem that says how spans are written.
func ParseSpan(s string) (Span, error) {
	s = strings.TrimSpace(s)
	if i := strings.IndexAny(s, "·:./"); i > 0 {
		_, sep := splitRune(s[i:])
		numbers, err := parseNumbers(s[i+sep:])
		if err != nil {
			return Span{}, err
		}
		return Span{Batch: strings.TrimSpace(s[:i]), Numbers: numbers}, nil
	}
	if n, ok := BatchNumber(s); ok {
		return Span{Batch: BatchName(n)}, nil
	}
	return parseCodes(s)
}

func parseCodes(s string) (Span, error) {
	words := strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ';' || r == ' ' || r == '\n' })
	var codes []Code
	for _, w := range words {
		c, err := ParseCode(w)
		if err != nil {
			return Span{}, err
		}
		codes = append(codes, c)
	}
	if len(codes) == 0 {
		return Span{}, spanProblem(s)
	}
	return Span{Codes: codes}, nil
}

func splitRune(s string) (rune, int) {
	for _, r := range s {
		return r, len(string(r))
	}
	return 0, 0
}

func spanProblem(s string) *Problem {
	return Invalidf("jars", "write them like B12·13–24, B12·3, 7, 9 or a code such as K73QF", "%q names no jars", figure.Clip(s, 40))
}

// parseNumbers reads "13–24, 30" into ascending numbers without repeats.
func parseNumbers(s string) ([]int, error) {
	s = strings.NewReplacer("–", "-", "—", "-", "−", "-", "to", "-").Replace(s)
	seen := make(map[int]bool)
	for part := range strings.FieldsFuncSeq(s, func(r rune) bool { return r == ',' || r == ';' || r == '+' }) {
		low, high, err := parseRange(part)
		if err != nil {
			return nil, err
		}
		for n := low; n <= high; n++ {
			seen[n] = true
		}
	}
	if len(seen) == 0 {
		return nil, spanProblem(s)
	}
	numbers := make([]int, 0, len(seen))
	for n := range seen {
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	return numbers, nil
}

func parseRange(part string) (low, high int, err error) {
	from, to, isRange := strings.Cut(part, "-")
	if !isRange {
		to = from
	}
	low, err1 := numberOf(from)
	high, err2 := numberOf(to)
	switch {
	case err1 != nil || err2 != nil || low < 1:
		return 0, 0, spanProblem(strings.TrimSpace(part))
	case high < low:
		return 0, 0, Invalidf("jars", fmt.Sprintf("write %d–%d", high, low), "the range %d–%d runs backwards", low, high)
	case high-low >= maxSpan:
		return 0, 0, Invalidf("jars", "name fewer at a time", "the range %d–%d names more than %d jars", low, high, maxSpan)
	}
	return low, high, nil
}

// numberOf reads a jar's number, also as it is written on lids: "J13", "#13".
func numberOf(s string) (int, error) {
	s = strings.ToLower(strings.TrimSpace(s))
	for _, before := range []string{"jars", "jar", "j", "#"} {
		if rest, ok := strings.CutPrefix(s, before); ok {
			s = strings.TrimSpace(rest)
			break
		}
	}
	return strconv.Atoi(s)
}

// String prints the span with ranges: "B12·13–24, 30".
func (s Span) String() string {
	if s.Batch == "" {
		words := make([]string, len(s.Codes))
		for i, c := range s.Codes {
			words[i] = string(c)
		}
		return strings.Join(words, ", ")
	}
	if s.Numbers == nil {
		return s.Batch
	}
	return s.Batch + "·" + ShowNumbers(s.Numbers)
}

// ShowNumbers prints ascending numbers with ranges: "1–3, 7".
func ShowNumbers(numbers []int) string {
	var parts []string
	for i := 0; i < len(numbers); {
		j := i
		for j+1 < len(numbers) && numbers[j+1] == numbers[j]+1 {
			j++
		}
		if j > i {
			parts = append(parts, fmt.Sprintf("%d–%d", numbers[i], numbers[j]))
		} else {
			parts = append(parts, strconv.Itoa(numbers[i]))
		}
		i = j + 1
	}
	return strings.Join(parts, ", ")
}
