package app

import (
	"slices"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// Stops are the cautions that stand in full on the sheet.
func (s BenchSheet) Stops() []figure.Caution {
	return distinct(s.Cautions, func(c figure.Caution) bool { return c.Weight == figure.Stop })
}

// Doubts are the cautions about the amounts, each once.
func (s BenchSheet) Doubts() []figure.Caution {
	return distinct(s.Cautions, func(c figure.Caution) bool { return c.Weight != figure.Stop })
}

// distinct returns the cautions that pass, each once.
func distinct(cautions []figure.Caution, pass func(figure.Caution) bool) []figure.Caution {
	var out []figure.Caution
	for _, c := range cautions {
		if pass(c) && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}

// Vessel is what the sheet fills: jar, plate, bottle or bag; jar where its
// recipes do not go into the same.
func (s BenchSheet) Vessel() string {
	out := ""
	for _, r := range s.Recipes {
		if out != "" && out != r.Vessel {
			return "jar"
		}
		out = r.Vessel
	}
	return firstOf(out, "jar")
}

// Blanks counts the blanks on the sheet.
func (s BenchSheet) Blanks() int {
	n := 0
	for _, j := range s.Jars {
		if j.Blank {
			n++
		}
	}
	return n
}

// MixNames are the mixes that are filled into the jars of the sheet, in the
// order of the recipes.
func (s BenchSheet) MixNames() []string {
	var out []string
	have := make(map[string]bool)
	for _, j := range s.Jars {
		for _, f := range j.Fills {
			if !have[lab.NameKey(f.Mix)] {
				have[lab.NameKey(f.Mix)] = true
				out = append(out, f.Mix)
			}
		}
	}
	return out
}

// Fill is how much of mix goes into j, "" if none does.
func (s BenchSheet) Fill(j SheetJar, mix string) string {
	for _, f := range j.Fills {
		if lab.NameKey(f.Mix) == lab.NameKey(mix) {
			return f.Amount
		}
	}
	return ""
}

// Arms are the arms of the trial, for the key of the sheet.
func (s BenchSheet) Arms() []lab.Arm {
	if s.Trial == nil {
		return nil
	}
	return s.Trial.Arms
}
