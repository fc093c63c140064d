package ingest

import (
	"slices"
	"strconv"
	"strings"

	"pinset/internal/lab"
)

// isUnknown reports whether a cell says nothing: blank, a dash, "?", "n/a".
func isUnknown(cell string) bool {
	return cell == "" || len(cell) <= 12 && unknownWords[strings.ToLower(cell)]
}

var unknownWords = wordSet("", "-", "--", "---", "–", "—", "−", "?", "??", "???", ".", "..", "...", "…", "n/a", "n.a.", "na", "n/k", "nk",
	"unknown", "not known", "tbd", "tba", "null", "nan", "(blank)", "not yet", "pending", "#n/a")

// answer is what a cell of a yes-or-no column says.
type answer int

const (
	unclear answer = iota
	yes
	no
)

var (
	yesWords = wordSet("yes", "y", "x", "xx", "✓", "✔", "✗", "✘", "√", "☑", "true", "1", "done", "yep", "yeah")
	noWords  = wordSet("no", "n", "none", "never", "false", "0", "nope", "not", "☐", "nil", "nothing")
)

func readAnswer(cell string) answer {
	switch low := strings.ToLower(cell); {
	case yesWords[low]:
		return yes
	case noWords[low]:
		return no
	}
	return unclear
}

// Beginnings of words that tell what became of a jar. Common practice, no
// source. What a word points to is not concluded from it: it is kept as the
// reason.
var (
	causeBegins = []string{
		"contam", "foul", "mould", "mold", "trich", "bacter", "cobweb", "broke", "crack", "shatter", "sampl", "spoil", "rott", "sour", "slime", "slimy",
		"yeast", "infect", "green", "black", "grey fluff", "gray fluff", "tc ", "dropped", "leak", "wet spot", "dried out", "dry out", "lid off", "mites", "orange powder",
	}
	goneBegins   = []string{"discard", "thrown", "threw", "toss", "dump", "binned", "trash", "cull", "lost", "dead", "died", "bad "}
	barrenBegins = []string{
		"barren", "blind", "no fruit", "no pin", "no flush", "no yield", "no crop", "no growth", "not fruit", "never fruit", "never pin", "never pick",
		"nothing grew", "did not fruit", "didnt fruit", "did not pin", "didnt pin", "no pick", "no harvest",
	}
	spentBegins  = []string{"spent", "finish", "exhaust", "compost", "retired"}
	pickedBegins = []string{"pick", "harvest", "fruit", "cropped"}
	growBegins   = []string{"grow", "running", "coloni", "incubat", "alive", "in progress", "pinning", "still", "waiting", "on shelf", "started"}
	cleanWords   = wordSet("clean", "kept", "keep", "ok", "fine", "good")
	negations    = wordSet("no", "not", "non", "without", "never", "none", "zero", "free")

	// lossAlone says that a jar is gone and not why.
	lossAlone = wordSet("lost", "discarded", "discard", "thrown", "out", "away", "tossed", "dumped", "binned", "trashed", "culled", "dead", "died",
		"threw", "bad", "it", "was", "jar", "yes", "x", "y", "and", "the")
)

// What cells may say beside the fates that a jar can have.
const (
	gone  lab.Fate = "gone"  // lost, with no word of why
	clean lab.Fate = "clean" // nothing was wrong
)

// readFate returns what the words of a cell say of a jar, clean if they say
// that nothing was wrong, and "" if they are not understood. Parts between
// commas and the like are read apart. A cause of loss counts most; "thrown
// out, no fruit" is barren.
func readFate(cell string) lab.Fate {
	found := make(map[lab.Fate]bool)
	for part := range strings.FieldsFuncSeq(strings.ToLower(cell), func(r rune) bool { return strings.ContainsRune(",;/+&()\n.:!", r) }) {
		readFatePart(joinWords.Replace(part), found)
	}
	for _, f := range []lab.Fate{lab.Lost, lab.Spent, lab.Barren, gone, lab.Picked, lab.Growing, clean} {
		switch {
		case found[f] && f == gone:
			return lab.Lost
		case found[f]:
			return f
		}
	}
	return ""
}

var joinWords = strings.NewReplacer("'", "", "’", "", "-", " ", "_", " ")

func readFatePart(part string, found map[lab.Fate]bool) {
	words := strings.Fields(part)
	text := " " + strings.Join(words, " ") + " "
	begins := func(all []string) bool {
		return slices.ContainsFunc(all, func(b string) bool { return strings.Contains(text, " "+b) })
	}
	for _, b := range barrenBegins {
		if at := strings.Index(text, " "+b); at >= 0 {
			found[lab.Barren] = true
			text = text[:at] + " " + text[at+1+len(b):]
			words = strings.Fields(text)
		}
	}
	lost, away := begins(causeBegins), begins(goneBegins)
	negated := slices.ContainsFunc(words, func(w string) bool { return negations[w] })
	switch {
	case (lost || away) && negated, len(words) == 1 && cleanWords[words[0]]:
		found[clean] = true
	case negated:
	case lost:
		found[lab.Lost] = true
	default:
		found[gone] = found[gone] || away
		found[lab.Spent] = found[lab.Spent] || begins(spentBegins)
		found[lab.Picked] = found[lab.Picked] || begins(pickedBegins)
		found[lab.Growing] = found[lab.Growing] || begins(growBegins)
	}
}

// saysWhy reports whether words tell why a jar was lost and not only that it was.
func saysWhy(words string) bool {
	for w := range strings.FieldsFuncSeq(strings.ToLower(words), func(r rune) bool { return strings.ContainsRune(" ,;:.!/-", r) }) {
		if !lossAlone[w] {
			return true
		}
	}
	return false
}

// The words for layers in the cooker.
const (
	bottomLayer = "bottom"
	middleLayer = "middle"
	topLayer    = "top"
)

var layerWords = spellings(map[string][]string{
	bottomLayer: {bottomLayer, "bot", "lower", "low", "b", "lowest"},
	middleLayer: {middleLayer, "mid", "centre", "center"},
	topLayer:    {topLayer, "upper", "up", "t", "highest"},
})

// readLayer reads "2", "layer 2", "L2", "2nd", or a word. Both are zero if
// the cell is no layer.
func readLayer(cell string) (n int, word string) {
	low := strings.ToLower(cell)
	for _, front := range []string{"layer", "level", "tier", "l"} {
		low = strings.TrimSpace(strings.TrimPrefix(low, front))
	}
	for _, back := range []string{"layer", "level", "st", "nd", "rd", "th", ".0"} {
		low = strings.TrimSpace(strings.TrimSuffix(low, back))
	}
	if n, ok := digits(low, 2); ok && n <= 20 {
		return n, ""
	}
	return 0, layerWords[strings.TrimSpace(strings.ToLower(strings.TrimSuffix(strings.ToLower(cell), "layer")))]
}

// summaryWords begin rows that sum up others.
var summaryWords = wordSet("total", "totals", "sum", "sums", "subtotal", "average", "averages", "avg", "mean", "means", "median", "count", "min", "max",
	"minimum", "maximum", "sd", "stdev", "std", "cv", "grand", "overall")

// isSummary reports whether a cell names what a row sums up: "Total", "mean:",
// "average per jar".
func isSummary(cell string) bool {
	words := strings.FieldsFunc(strings.ToLower(clip(cell)), func(r rune) bool { return strings.ContainsRune(" :=.,;-()/…", r) })
	if len(words) > 1 && words[0] == "sub" {
		words = words[1:]
	}
	return len(words) > 0 && len(words) <= 5 && summaryWords[words[0]]
}

// pairOf reads "3-7".
func pairOf(cell string) (a, b int, ok bool) {
	left, right, cut := strings.Cut(pairSigns.Replace(cell), "-")
	a, ok1 := digits(strings.TrimSpace(left), 6)
	b, ok2 := digits(strings.TrimSpace(right), 6)
	return a, b, cut && ok1 && ok2
}

var pairSigns = strings.NewReplacer("–", "-", "—", "-", " to ", "-")

// jarNumber reads "13", "13.0", "#13", "jar 13", "J13" and "no. 13"; 0 if the
// cell is no number. Bare is false if a letter stands before the number.
func jarNumber(cell string) (n int, bare bool) {
	low := strings.ToLower(strings.TrimSpace(cell))
	bare = true
	for _, front := range []string{"jar", "bag", "bottle", "tub", "no.", "no", "nr.", "nr", "#", "j"} {
		if cut, ok := strings.CutPrefix(low, front); ok {
			low, bare = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(cut), "#")), front != "j"
			break
		}
	}
	low = strings.TrimSuffix(low, ".0")
	n, ok := digits(low, 6)
	if !ok {
		return 0, false
	}
	return n, bare
}

func number(n int) string { return strconv.Itoa(n) }
