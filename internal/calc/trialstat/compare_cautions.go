package trialstat

import (
	"fmt"
	"math"

	"pinset/internal/figure"
)

func (c *comparing) doubt(weight figure.Weight, code, title, text string, args ...any) {
	c.cautions = append(c.cautions, figure.Caution{Code: code, Title: title, Text: fmt.Sprintf(text, args...), Weight: weight})
}

// caution collects what makes the result doubtful.
func (c *comparing) caution() {
	c.cautionJars()
	c.cautionPlace()
	c.cautionMixing()
	c.cautionOutcome()
	c.cautionFigures()
}

// cautionJars is about jars and their fates.
func (c *comparing) cautionJars() {
	var unused []string
	for i, f := range c.jars.fates {
		if v := c.jars.rows[i].Value; v != nil && *v > 0 && (f == lost || f == barren) {
			unused = append(unused, c.jars.jar(i)+" "+plain(*v)+" g")
		}
	}
	if len(unused) > 0 {
		c.doubt(figure.Care, "weight_not_counted", "Weights not counted",
			"Lost and barren jars count 0 g, so these weights are in no figure: %s. If a jar was picked before it was lost, write picked.", someOf(unused))
	}
	least, most := math.Inf(1), 0.0
	for _, a := range c.result.Arms {
		share := float64(a.Lost) / float64(a.Inoculated)
		least, most = min(least, share), max(most, share)
		if a.Lost == a.Inoculated {
			c.doubt(figure.Care, "arm_all_lost", "An arm was lost whole", "All %s of %s were lost. Per jar inoculated that is 0 g; per jar picked there is nothing to say.", jars(a.Lost), brief(a.Name))
		}
	}
	if most > 1.0/3 || most-least >= 0.2 {
		c.doubt(figure.Care, "losses", "Losses are part of the result",
			"From %s to %s of an arm's jars were lost. Read the figures per jar inoculated, in which a lost jar counts 0 g, beside those per jar picked, and ask what the losses have to do with the arm.",
			percent(100*least), percent(100*most))
	}
}

// cautionPlace is about where and when jars stood.
func (c *comparing) cautionPlace() {
	placed := false
	for _, col := range c.columns {
		if len(col.levels) == 0 {
			continue
		}
		placed = placed || col.name == factorLayer || col.name == factorCook
		if known := c.recorded(col); col.name != factorOther && known < len(c.main.rows) {
			c.doubt(figure.Note, "partly_recorded", "Not recorded for every jar", "The %s is recorded for %d of %s that count; what moved with it can not be seen for the others.", col.word, known, c.things(len(c.main.rows)))
		}
	}
	if !placed {
		c.doubt(figure.Care, "place_unrecorded", "Where the jars stood is not recorded",
			"Neither cook nor layer is recorded, so the interval covers chance between jars and no difference between places. Write them down, and let the places be drawn by lot.")
	}
	if c.result.Seed == nil && c.redraw == nil {
		c.doubt(figure.Note, "lot_unrecorded", "Nothing says that jars were placed by lot",
			"No seed of an allotment is given. Where jars were not placed by lot, the interval covers chance between jars and not the way they were placed.")
	}
	for _, p := range c.aliasing {
		switch {
		case p.full:
		case c.blocksOn(p.factor):
			c.doubt(figure.Care, "partly_aliased", "Arms stood unevenly", "The %s moved partly with %s. The figures are taken within the same %s, which leaves %s of the information. Next time, %s.",
				p.factor.word, listed(short(p.Arms)), p.factor.word, percent(100*p.Efficiency), p.Repair)
		default:
			c.doubt(figure.Care, "partly_aliased", "Arms moved with something else", "The %s moved partly with %s, and the figures are not corrected for it: a part of the difference may be the %s. Next time, %s.",
				p.factor.word, listed(short(p.Arms)), p.factor.word, p.Repair)
		}
	}
	for _, col := range c.columns {
		if c.within(col.name) && !c.allRefused() && !c.blocksOn(col.factor) && col.varies(c.main.rows) && c.outcome.means() {
			c.doubt(figure.Care, "not_within", "Not compared within the same "+col.word,
				"Too few jars of both arms share a %s, or a cook and a layer, to compare within it, so the figures do not correct for the %s.", col.word, col.word)
		}
	}
}

// recorded counts the jars that count and have a level of a factor.
func (c *comparing) recorded(col column) int {
	n := 0
	for _, i := range c.main.rows {
		if col.codes[i] >= 0 {
			n++
		}
	}
	return n
}

func (c *comparing) blocksOn(f factor) bool {
	for _, by := range c.blockBy {
		if by.name == f.name {
			return true
		}
	}
	return false
}

// cautionMixing is about makings, packages and how far a trial reaches.
func (c *comparing) cautionMixing() {
	if c.oneMaking() {
		c.doubt(figure.Care, "one_making", "One mixing each",
			"Each mix was made once, so a weighing slip would look the same as a difference between the arms. Make every mix anew for every cook; the plan offers it.")
	}
	for _, pair := range c.pairs() {
		if things := c.together(pair); len(things) > 1 {
			c.doubt(figure.Care, "package", "Packages are compared", "%s differ in %s at once. The trial can tell the packages apart, not which of these did it; change one thing at a time to know.",
				listed(short(c.armNames(pair))), listed(things))
			break
		}
	}
	if len(c.differ) == 0 {
		c.doubt(figure.Note, "differ_unsaid", "What the arms differ in is not said", "Say what the arms differ in (recipe, culture, container, treatment), so that everything else can be checked against it.")
	}
	switch cooks := c.levelsOf(factorCook, func(int) bool { return true }); {
	case cooks == 1:
		c.doubt(figure.Note, "one_cook", "One cook", "This holds for this cook. A second may differ, and says more than as many jars again in the first.")
	case cooks == 2 && c.unit.factor == "":
		c.doubt(figure.Note, "two_cooks", "Two cooks", "This holds for these two cooks. Three or more would speak for cooks to come.")
	}
	if n := len(c.pairs()); n > 1 {
		c.doubt(figure.Care, "several_comparisons", "Several comparisons",
			"%d comparisons are made. Each plain interval holds with 95 %%, all of them together with less; endings and sentences rest on intervals widened for all (joint_low to joint_high).", n)
	}
}

// oneMaking reports whether arms that differ in recipe have one making each on
// record.
func (c *comparing) oneMaking() bool {
	if !(c.differs(factorRecipe) || len(c.differ) == 0) {
		return false
	}
	for arm := range c.names {
		if c.makings(arm) == 1 {
			return true
		}
	}
	return false
}

// cautionFigures is about figures that could not be said.
func (c *comparing) cautionFigures() {
	c.cautionCooks()
	for _, x := range c.result.Comparisons {
		if x.Difference.Low != nil && x.Percent.Low == nil {
			c.doubt(figure.Care, "control_near_zero", "No interval in per cent", "The mean of %s is not clear of 0 g, so per cent of it have no ends. Read the grams.", brief(x.Arms[1]))
			break
		}
	}
	if c.unlike {
		c.doubt(figure.Care, "draw_unlike", "The draw could not be run again", "The allotment is of another number of jars than the table, so there is no randomisation p.")
	}
}
