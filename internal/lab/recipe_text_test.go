package lab

import (
	"strings"
	"testing"
)

func TestParseRecipeLine(t *testing.T) {
	for typed, want := range map[string]RecipeLine{
		"20 g malt extract":          {"malt extract", "20 g"},
		"1/2 cup oats":               {"oats", "1/2 cup"},
		"1 1/2 cups rye":             {"rye", "1 1/2 cups"},
		"10 lb 11 oz rye":            {"rye", "10 lb 11 oz"},
		"46ml water":                 {"water", "46ml"},
		"2 large egg":                {"egg", "2 large"},
		"3 parts bran":               {"bran", "3 parts"},
		"20 % wheat bran":            {"wheat bran", "20 %"},
		"rest water":                 {"water", "rest"},
		"½ tsp yeast extract powder": {"yeast extract powder", "½ tsp"},
	} {
		if got, err := ParseRecipeLine(typed); err != nil || got != want {
			t.Errorf("ParseRecipeLine(%q) = %+v, %v, want %+v", typed, got, err, want)
		}
	}
	for _, typed := range []string{"", "oats", "20 g", "a pinch of salt", "oats 20 g"} {
		if got, err := ParseRecipeLine(typed); !IsKind(err, Invalid) {
			t.Errorf("ParseRecipeLine(%q) = %+v, %v, want an Invalid Problem", typed, got, err)
		}
	}
}

func TestParseRecipe(t *testing.T) {
	mixes, fills, err := ParseRecipe([]string{"grain: 40 g oats", "broth to 1 L: 20 g malt extract, 3 g yeast extract"}, []string{"40 g grain", "48 mL broth"})
	if err != nil {
		t.Fatal(err)
	}
	if len(mixes) != 2 || mixes[1].Name != "broth" || mixes[1].MakeUpTo != "1 L" || len(mixes[1].Lines) != 2 {
		t.Errorf("mixes are read as %+v", mixes)
	}
	if len(fills) != 2 || fills[1] != (Fill{"broth", "48 mL"}) {
		t.Errorf("fills are read as %+v", fills)
	}
	if _, _, err := ParseRecipe([]string{"40 g oats"}, nil); !IsKind(err, Invalid) {
		t.Errorf("a mix without a colon: %v", err)
	}
}

func FuzzParseRecipe(f *testing.F) {
	f.Add("broth to 1 L: 20 g malt extract, 3 g yeast extract", "48 mL broth")
	f.Add("grain: 1/2 cup oats; rest water", "40 g grain")
	f.Fuzz(func(t *testing.T, mix, fill string) {
		mixes, _, err := ParseRecipe([]string{mix}, []string{fill})
		if err != nil {
			if _, ok := AsProblem(err); !ok {
				t.Fatalf("%v is no Problem", err)
			}
			return
		}
		for _, l := range mixes[0].Lines {
			if strings.TrimSpace(l.Amount) == "" || strings.TrimSpace(l.Ingredient) == "" {
				t.Fatalf("the mix %q has the line %+v", mix, l)
			}
		}
	})
}
