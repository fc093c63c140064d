package substrate

import "strings"

// Target is what published and common practice say of the substrate of one
// species: ranges to look at, never marks to pass.
type Target struct {
	Species  string   // scientific name
	Aliases  []string // common names
	Moisture Band     // of the substrate, wet basis, %
	CN       Band     // mass ratio
	Fresh    Band     // dry matter of the fresh mushroom, %
}

// Band is a range with where it is from. A single value has Low == High.
type Band struct {
	Low, High float64 // 0 and 0 if nothing is known
	Source    string
}

// Known reports whether b says anything.
func (b Band) Known() bool { return b.High > 0 }

const (
	memory   = "from memory"
	practice = "common practice, no source"
	lowGrade = "growers' reports, not checked"
)

// targets are by species in the order of the reference.
var targets = []Target{
	{
		"Cordyceps militaris",
		[]string{"cordyceps", "orange cordyceps"},
		Band{58, 62, practice},
		Band{25, 35, "worked out from published recipes"},
		Band{14, 20, memory},
	},
	{
		"Pleurotus ostreatus",
		[]string{"oyster", "grey oyster", "blue oyster", "oyster mushroom"},
		Band{60, 65, "bags; straw 70 to 75 %; " + memory},
		Band{30, 80, memory},
		Band{10.82, 10.82, "USDA SR28, NDB 11987"},
	},
	{"Pleurotus geesteranus", nil, Band{}, Band{26.3, 27.7, "optimum 27 ± 0.7 in one published trial"}, Band{}},
	{"Pleurotus eryngii", []string{"king oyster"}, Band{65, 68, memory}, Band{30, 50, memory}, Band{10, 12, memory}},
	{"Hericium erinaceus", []string{"hericium", "lion's mane"}, Band{60, 65, memory}, Band{25, 50, memory}, Band{8, 12, memory}},
	{
		"Lentinula edodes",
		[]string{"lentinula", "shiitake"},
		Band{55, 56, "55 best of 50, 55, 60: Shen, Tian and Royse 2008, Bioresour. Technol. 99:8212; 56 better than 64: J. Wood Sci. 2016"},
		Band{30, 60, memory},
		Band{10.26, 10.26, "USDA SR28, NDB 11238"},
	},
	{"Ganoderma lucidum", []string{"ganoderma", "reishi"}, Band{55, 60, lowGrade}, Band{50, 80, memory}, Band{30, 40, memory}},
	{
		"Grifola frondosa",
		[]string{"grifola", "maitake"},
		Band{55, 60, memory},
		Band{48, 48, "44.91 % biological efficiency at C:N 48.4, PMC5866258"},
		Band{9.63, 9.63, "USDA SR28, NDB 11993"},
	},
	{"Flammulina velutipes", []string{"flammulina", "enoki"}, Band{63, 65, lowGrade}, Band{25, 35, memory}, Band{11.66, 11.66, "USDA SR28, NDB 11950"}},
	{"Cyclocybe aegerita", []string{"cyclocybe", "pioppino", "black poplar"}, Band{65, 70, lowGrade}, Band{30, 50, memory}, Band{9, 12, memory}},
	{"Pholiota nameko", []string{"nameko"}, Band{65, 65, lowGrade}, Band{40, 60, memory}, Band{4.8, 4.8, lowGrade}},
	{"Trametes versicolor", []string{"trametes", "turkey tail"}, Band{60, 60, memory}, Band{31, 31, "best in one published trial"}, Band{25, 40, memory}},
	{
		"Auricularia",
		[]string{"auricularia polytricha", "auricularia auricula-judae", "wood ear", "ear fungus"},
		Band{60, 60, "Penn State Extension"},
		Band{40, 80, memory},
		Band{7, 10, memory},
	},
}

// Targets returns the target of every species that one is known for.
func Targets() []Target { return targets }

// TargetOf returns the target of a species by its scientific or common name.
func TargetOf(species string) (Target, bool) {
	k := normal(species)
	if k == "" {
		return Target{}, false
	}
	for _, t := range targets {
		if normal(t.Species) == k {
			return t, true
		}
		for _, a := range t.Aliases {
			if normal(a) == k {
				return t, true
			}
		}
	}
	genus, _, two := strings.Cut(k, " ")
	for _, t := range targets {
		if g, _, _ := strings.Cut(normal(t.Species), " "); two && g == genus && normal(t.Species) == g {
			return t, true
		}
	}
	return Target{}, false
}
