package lab

import "slices"

// The primary outcomes: what of a jar decides a trial. It is chosen when the trial
// is planned.
const (
	PerInoculated = "inoculated" // grams; lost and barren jars count 0 g
	PerPicked     = "picked"     // grams of the jars that fruited
	ByFruited     = "fruited"    // whether a jar fruited
	ByClean       = "clean"      // whether a jar was kept, not lost
	ByPins        = "pins"       // pins counted on a jar, the last count
	ByColour      = "colour"     // colour of a jar from 0, none seen, to 4
)

// Outcomes lists them in the order that pages offer them.
var Outcomes = []string{PerInoculated, PerPicked, ByFruited, ByClean, ByPins, ByColour}

// MostColour is the strongest colour of a jar.
const MostColour = 4

// OutcomeWords says what decides: "grams per jar inoculated".
func OutcomeWords(primary string) string {
	switch primary {
	case ByFruited:
		return "share of jars that fruited"
	case ByClean:
		return "share of jars kept clean"
	case ByPins:
		return "pins per jar inoculated"
	case ByColour:
		return "colour of the jars, from 0 to 4"
	}
	return "grams per jar " + primary
}

// MattersUnit is the unit of the smallest difference that matters.
func MattersUnit(primary string) string {
	switch primary {
	case ByFruited, ByClean:
		return "points of a hundred jars"
	case ByColour:
		return "points of a hundred pairs"
	}
	return "%"
}

func isOutcome(primary string) bool { return slices.Contains(Outcomes, primary) }
