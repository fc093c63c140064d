package cli

import (
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// readFactor reads "hold on cook: 60 min, 90 min", "depth of recipe: 16, 25 mm".
func readFactor(text string) (app.PlanFactor, error) {
	head, rest, ok := strings.Cut(text, ":")
	if !ok {
		return app.PlanFactor{}, lab.Invalidf("factor", "write it like 'depth of recipe: 16 mm, 25 mm' or 'hold on cook: 60 min, 90 min'", "%.60q names no levels", text)
	}
	f := app.PlanFactor{Levels: parts(rest)}
	head = " " + strings.Join(strings.Fields(head), " ")
	head, f.On, _ = cutLast(head, " on ")
	head, f.Is, _ = cutLast(head, " of ")
	f.Name = strings.TrimSpace(head)
	return f, nil
}

// cutLast is strings.Cut at the last sep.
func cutLast(s, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}

// readOver reads "person: AB, CD".
func readOver(text string) (app.PlanOver, error) {
	is, rest, ok := strings.Cut(text, ":")
	if !ok {
		return app.PlanOver{}, lab.Invalidf("over", "write it like 'person: AB, CD'", "%.60q names no levels", text)
	}
	return app.PlanOver{Is: is, Levels: parts(rest)}, nil
}

func parts(s string) []string {
	var out []string
	for part := range strings.SplitSeq(s, ",") {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

// designed adds the factors, and what the arms are spread over, to a plan.
func (c *trialPlanCmd) designed(in *app.PlanInput) error {
	for _, text := range c.Factor {
		f, err := readFactor(text)
		if err != nil {
			return err
		}
		in.Factors = append(in.Factors, f)
	}
	for _, text := range c.Over {
		o, err := readOver(text)
		if err != nil {
			return err
		}
		in.Over = append(in.Over, o)
	}
	return nil
}
