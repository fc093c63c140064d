package app

import (
	"fmt"

	"pinset/internal/lab"
)

// Bounds of one plan.
const (
	maxPlanJars  = 10000
	maxPlanCooks = 50
)

func checkPlan(in PlanInput) error {
	switch {
	case in.Jars < 1:
		return lab.Invalidf("jars", "write how many jars each arm gets", "%d jars can not be filled", in.Jars)
	case in.Jars*max(1, len(in.Arms)) > maxPlanJars:
		return lab.Invalidf("jars", "plan several batches", "%d jars are more than the %d of one plan", in.Jars*max(1, len(in.Arms)), maxPlanJars)
	case len(in.Arms) > lab.MaxArms:
		return lab.Invalidf("arms", "name 2 to 12; more make several trials", "a trial compares at most 12 arms, this has %d", len(in.Arms))
	case len(in.Arms) == 1:
		return lab.Invalidf("arms", "name a second arm, or leave the arms out for a plain batch", "one arm has nothing to be compared with")
	case len(in.Cooks) == 0 || len(in.Cooks) > maxPlanCooks:
		return lab.Invalidf("cooks", fmt.Sprintf("write 1 to %d cooks with the jars that each layer takes", maxPlanCooks), "the plan has %d cooks", len(in.Cooks))
	case in.BlanksPerCook < 0 || in.BlanksPerCook > 20:
		return lab.Invalidf("blanks", "write 0 to 20", "%d blanks for each cook are out of range", in.BlanksPerCook)
	case !(in.Loss >= 0 && in.Loss <= 90):
		return lab.Invalidf("loss", "write the share of jars that is usually lost, such as 10", "a loss of %g %% is out of the range 0 to 90 %%", in.Loss)
	case !(in.Spread >= 0 && in.Spread <= 200):
		return lab.Invalidf("spread", "write the spread between jars in per cent, such as 25", "a spread of %g %% is out of the range 0 to 200 %%", in.Spread)
	}
	for i, c := range in.Cooks {
		if _, err := cookOf(NewCook{Name: c.Name, Hold: c.Hold, Gauge: c.Gauge, Layers: len(c.Places)}, lab.When{}); err != nil {
			return err
		}
		if len(c.Places) == 0 {
			return lab.Invalidf("places", "write the jars that each layer takes, the bottom first, such as 7, 7", "cook %d has no layer", i+1)
		}
		for k, n := range c.Places {
			if n < 1 || n > 1000 {
				return lab.Invalidf("places", "write the jars that each layer takes, such as 7, 7", "layer %d of cook %d can not take %d jars", k+1, i+1, n)
			}
		}
	}
	return nil
}
