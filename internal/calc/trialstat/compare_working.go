package trialstat

import "pinset/internal/figure"

func (c *comparing) step(step, formula string, value any, unit, source string) {
	c.working = append(c.working, figure.Step{Step: step, Formula: formula, Value: value, Unit: unit, Source: source})
}

// explain writes the working of the first comparison.
func (c *comparing) explain(j judgement, out Comparison) {
	within := "all jars together"
	if len(c.blockBy) > 0 {
		var words []string
		for _, f := range c.blockBy {
			words = append(words, f.word)
		}
		within = "the same " + listed(words)
	}
	c.step("jars that count", "per jar "+c.primary, len(c.main.rows), "jars", "")
	c.step("compared within", "cook and layer as far as recorded", within, "", "")
	c.step("information left", "(1/n₁ + 1/n₂)·σ² / variance of the difference", out.Efficiency, "", "John and Williams (1995), 2.2")
	if out.Difference.Low == nil {
		return
	}
	e := j.main
	pair := brief(out.Arms[0]) + " − " + brief(out.Arms[1])
	c.step("difference "+pair, "least squares of grams on place and arm", e.value, "g", "stats.BlockFit")
	c.step("standard error", "√Σ c²·e²/(1 − h), HC2", e.plain.SE, "g", "MacKinnon and White (1985)")
	c.step("degrees of freedom", "tr(AS)²/tr(ASAS), each arm with its own variance", e.plain.DF, "", "Satterthwaite (1946); Welch (1947) without places")
	c.step("low end, 95 %", "difference − t·standard error", e.plain.Low, "g", "")
	c.step("high end, 95 %", "difference + t·standard error", e.plain.High, "g", "")
	if j.several > 1 {
		c.step("low end, all comparisons together", "the same at the level of all comparisons", e.joint.Low, "g", c.jointMethod())
		c.step("high end, all comparisons together", "the same at the level of all comparisons", e.joint.High, "g", c.jointMethod())
	}
	c.explainCooks(out.ByCook)
	c.step("mean of "+brief(out.Arms[1]), "over the places as filled", maybe(e.control), "g", "stats.BlockFit")
	c.step("smallest difference that matters", plain(c.matters)+" % of that mean", maybe(c.matters/100*e.control), "g", "")
	how := c.how
	if c.draws > 0 {
		how = whole(c.draws) + " " + how
	}
	c.step("randomisation p", how, out.Difference.PRandomisation, "", "Pitman (1937)")
}
