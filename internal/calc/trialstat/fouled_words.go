package trialstat

import (
	"fmt"
	"strings"

	"pinset/internal/figure"
)

// say fills in the sentences, the cautions and the working.
func (f *fouling) say() {
	for _, group := range f.alike {
		var names, words []string
		for _, i := range group {
			names, words = append(names, f.columns[i].name), append(words, f.columns[i].word)
		}
		f.result.Confused = append(f.result.Confused, FouledConfused{names, fmt.Sprintf(
			"%s were always together: nothing in these jars tells them apart.", capital(listed(words)))})
	}
	f.result.Blanks.Sentence = f.sayBlanks()
	f.result.Sentence = f.sayAll()
	f.caution()
	f.explain()
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// sayBlanks says what the blanks can and can not show.
func (f *fouling) sayBlanks() string {
	b := f.result.Blanks
	switch {
	case b.Total == 0:
		return "No blank was kept, so nothing tells a cook that failed from a culture that was foul; leave a jar or two of each cook without culture."
	case b.Bad > 0:
		return fmt.Sprintf("%d of %s fouled though nothing was put into %s: look at the cook, the lids and the cooling first.",
			b.Bad, figure.Count(b.Total, "blank", "blanks"), one(b.Total, "it", "them"))
	}
	miss := fmt.Sprintf("were the cook to foul 3 jars in 10, %s would all the same stay clean %s times in 100", figure.Count(b.Total, "blank", "blanks"), number(100*b.MissedAt30Pct, clearOfZero(0, 100*b.MissedAt30Pct)))
	if n := len(b.ByCook); n > 1 {
		miss += fmt.Sprintf(", and these come from %d cooks: each speaks for its own only", n)
	}
	return fmt.Sprintf("%s stayed clean. That does not clear the cook: %s.", capital(allOf(b.Total)), miss)
}

func allOf(n int) string {
	if n == 1 {
		return "the one blank"
	}
	return fmt.Sprintf("all %d blanks", n)
}

// sayAll says what was found in one sentence.
func (f *fouling) sayAll() string {
	r := &f.result
	head := fmt.Sprintf("%d of %s fouled", r.Bad, jars(r.Total))
	switch {
	case r.Total == 0:
		return "There are blanks only: they speak for the cook, not for what was put into jars."
	case r.Bad == 0:
		return fmt.Sprintf("None of %s fouled.", jars(r.Total))
	case r.Bad == r.Total && r.Total > 1:
		return fmt.Sprintf("All %s fouled: whatever they share may be to blame, and no rate tells their factors apart. Set them beside jars that stayed clean.", jars(r.Total))
	case len(r.Suspects) > 0:
		return r.Suspects[0].Sentence
	}
	low := -1
	for i, x := range r.Factors {
		if x.PAdjusted != nil && (low < 0 || *x.PAdjusted < *r.Factors[low].PAdjusted) {
			low = i
		}
	}
	if low < 0 {
		return head + ", and nothing that is recorded differs between jars in a way that could be judged."
	}
	return fmt.Sprintf("%s, and nothing that is recorded stands out; nearest is the %s (p %s over all factors). That clears none of them.",
		head, f.columns[low].word, chanceText(*r.Factors[low].PAdjusted))
}

func (f *fouling) warn(weight figure.Weight, code, title, text string) {
	f.cautions = append(f.cautions, figure.Caution{Code: code, Title: title, Text: text, Weight: weight})
}

func (f *fouling) caution() {
	r := &f.result
	if r.Bad > 0 {
		f.warn(figure.Care, "ranking_only", "For ranking only",
			"The chance per jar is for ranking only: jars of one LC go bad together, and so do jars of one cook, so that chance is larger than these p say. Take the suspects as the order in which to look.")
	}
	if r.Bad > 0 && r.Bad == r.Total {
		f.warn(figure.Care, "no_clean_jars", "No clean jars", "Every jar in the table fouled. Put the clean ones in as well: without them there is no rate.")
	}
	for _, c := range r.Confused {
		f.warn(figure.Care, "confused", "Always together", c.Sentence+" Next time, split one of them over the other.")
	}
	switch b := r.Blanks; {
	case b.Total == 0:
		f.warn(figure.Note, "no_blanks", "No blanks", b.Sentence)
	case b.Bad > 0:
		f.warn(figure.Care, "blank_fouled", "A blank fouled", b.Sentence)
	case b.MissedAt30Pct > suspicious:
		f.warn(figure.Note, "few_blanks", "Few blanks", b.Sentence)
	}
	for i, x := range r.Factors {
		if x.Unknown > 0 {
			f.warn(figure.Note, "not_recorded", "Not recorded for all", fmt.Sprintf("The %s is not recorded for %d of %s; they are left out where it is counted.", f.columns[i].word, x.Unknown, jars(r.Total)))
		}
	}
}

// explain lists how the figures came to be.
func (f *fouling) explain() {
	step := func(what, formula string, value any, source string) {
		f.working = append(f.working, figure.Step{Step: what, Formula: formula, Value: value, Source: source})
	}
	step("jars that fouled", "count, blanks apart", f.result.Bad, "")
	step("jars", "count, blanks apart", f.result.Total, "")
	for i, x := range f.result.Factors {
		if x.P == nil {
			continue
		}
		formula, source := "the share of tables with these totals that are no likelier", "Fisher (1925)"
		switch x.Method {
		case byFreemanHalton:
			source = "Freeman and Halton (1951)"
		case byDraws:
			formula, source = "(1 + deals as far apart)/(1 + deals)", "Pearson's statistic, fouled jars dealt anew"
		}
		step("p of the "+f.columns[i].word, formula, *x.P, source)
		if x.PWithin != nil {
			step("p of the "+f.columns[i].word+" within the "+f.columns[f.columnNamed(x.Within)].word, "the same, totals within each level given", *x.PWithin, "Mehta, Patel and Gray (1985), or deals within levels")
		}
		step("p of the "+f.columns[i].word+" over all factors", "(1 + deals in which any factor looks as bad)/(1 + deals)", *x.PAdjusted, "Westfall and Young (1993)")
	}
	if n := f.result.Blanks.Total; n > 0 {
		step("chance that the blanks miss a cook that fouls 30 %", fmt.Sprintf("0.7^%d", n), f.result.Blanks.MissedAt30Pct, "the definition")
	}
}
