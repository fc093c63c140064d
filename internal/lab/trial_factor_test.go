package lab

import (
	"slices"
	"strings"
	"testing"
)

// Levels that are numbers are doses, put in order with their unit; words are
// not, and keep the order in which they were typed.
func TestNewTrialFactor(t *testing.T) {
	f, err := NewTrialFactor("factor1", "depth", "recipe", "", "", []string{"25", "16 mm", "30 mm"})
	if err != nil || !slices.Equal(f.Levels, []string{"16 mm", "25 mm", "30 mm"}) || !slices.Equal(f.Doses, []float64{16, 25, 30}) || f.Unit != "mm" || f.On != OnJar || f.Is != ByRecipe {
		t.Errorf("depth is %+v, %v", f, err)
	}
	f, err = NewTrialFactor("factor1", "hold", "treatment", "Cook", "min", []string{"90", "60"})
	if err != nil || !slices.Equal(f.Levels, []string{"60 min", "90 min"}) || f.On != OnCook {
		t.Errorf("hold is %+v, %v", f, err)
	}
	f, err = NewTrialFactor("factor1", "broth", "", "", "", []string{"malt", "6 g"})
	if err != nil || len(f.Doses) != 0 || !slices.Equal(f.Levels, []string{"malt", "6 g"}) || f.Is != ByTreatment {
		t.Errorf("broth is %+v, %v", f, err)
	}
}

func TestNewTrialFactorFaults(t *testing.T) {
	long := strings.Repeat("x", 300)
	for name, c := range map[string]struct {
		factor, is, on string
		levels         []string
		want           string
	}{
		"one level":      {"broth", "recipe", "", []string{"malt"}, "broth has 1 level, so nothing would differ"},
		"equal levels":   {"broth", "recipe", "", []string{"malt", "Malt "}, "broth has the level Malt twice"},
		"equal doses":    {"depth", "recipe", "", []string{"16", "16.0"}, "depth has a dose of 16 that can not be read, or twice"},
		"13 levels":      {"broth", "", "", strings.Split("a b c d e f g h i j k l m", " "), "broth has 13 levels"},
		"no name":        {" ", "", "", []string{"a", "b"}, "the factor has no name"},
		"long level":     {"broth", "", "", []string{"a", long}, "the name of the level has 300 characters"},
		"unknown unit":   {"broth", "", "barn", []string{"a", "b"}, `broth can not be set on a "barn"`},
		"unknown record": {"broth", "colour", "", []string{"a", "b"}, `arms can not differ in "colour"`},
	} {
		_, err := NewTrialFactor("factor2", c.factor, c.is, c.on, "", c.levels)
		p, ok := AsProblem(err)
		if !ok || p.Field != "factor2" || !strings.Contains(p.What, c.want) || p.Mend == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if f, err := NewTrialFactor("factor1", "국물", "", "", "", []string{"맥아", "감자"}); err != nil || f.Levels[1] != "감자" {
		t.Errorf("Hangul: %+v, %v", f, err)
	}
}

// The arms of a trial with factors are their crossing, each combination once.
func TestTrialFactors(t *testing.T) {
	broth := TrialFactor{Name: "broth", Is: ByRecipe, On: OnJar, Levels: []string{"malt", "potato"}}
	hold := TrialFactor{Name: "hold", Is: ByTreatment, On: OnCook, Levels: []string{"60 min", "90 min"}, Doses: []float64{60, 90}, Unit: "min"}
	trial := func(levels ...[]string) Trial {
		out := Trial{Name: "t", Details: TrialDetails{Factors: []TrialFactor{broth, hold}}}
		for i, l := range levels {
			out.Arms = append(out.Arms, Arm{Name: string(rune('A' + i)), Levels: l})
		}
		return out
	}
	full := trial([]string{"malt", "60 min"}, []string{"malt", "90 min"}, []string{"potato", "60 min"}, []string{"potato", "90 min"})
	got, err := full.Check()
	if err != nil {
		t.Fatal(err)
	}
	if split := got.Split(); len(split) != 1 || split[0].Name != "hold" {
		t.Errorf("split factors %+v", split)
	}
	if k := got.LevelOf(got.Arms[2], 0); k != 1 {
		t.Errorf("arm C has broth %d", k)
	}
	if _, ok := got.Ladder(); ok {
		t.Error("two factors are no ladder")
	}
	for name, bad := range map[string]Trial{
		"make 4 arms and the trial has 2": trial([]string{"malt", "60 min"}, []string{"malt", "90 min"}),
		"states 1 levels of 2 factors":    trial([]string{"malt"}, []string{"malt", "90 min"}, []string{"potato", "60 min"}, []string{"potato", "90 min"}),
		`has broth at "rye"`:              trial([]string{"rye", "60 min"}, []string{"malt", "90 min"}, []string{"potato", "60 min"}, []string{"potato", "90 min"}),
		"two arms are malt, 60 min":       trial([]string{"malt", "60 min"}, []string{"malt", "60 min"}, []string{"potato", "60 min"}, []string{"potato", "90 min"}),
	} {
		if _, err := bad.Check(); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
	ladder := Trial{Details: TrialDetails{Factors: []TrialFactor{{Name: "depth", Doses: []float64{10, 20, 30}}}}}
	if f, ok := ladder.Ladder(); !ok || f.Name != "depth" {
		t.Error("three depths are a ladder")
	}
}
