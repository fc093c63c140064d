package thermal

import (
	"math"
	"strconv"

	"pinset/internal/figure"
)

// hardly is a lethality, min, of which no digits are written.
const hardly = 0.01

// two writes v, 0 or more, with two significant digits: a lethality is not
// known better. It is rounded to the nearest; what is said to be at least or
// up to goes by atLeast and upTo.
func two(v float64) string { return digits(v, math.Round) }

func atLeast(v float64) string { return digits(v, math.Floor) }

func upTo(v float64) string { return digits(v, math.Ceil) }

// digits writes v, 0 or more, with two significant digits as round leaves them.
func digits(v float64, round func(float64) float64) string {
	switch {
	case v == 0 || math.IsInf(v, 0) || math.IsNaN(v):
		return "0"
	case v < hardly:
		return "less than 0.01"
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-1)
	v = round(math.Round(v/step*1e9)/1e9) * step // 8.9 is not to fall to 8.8 for its last bit
	if v >= 10 {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return strconv.FormatFloat(v, 'g', 2, 64)
}

// wholeUp writes minutes rounded up to the next whole one: a hold must not
// shrink on its way to the page. A second over a whole minute, the error of
// the searches, is let go.
func wholeUp(minutes float64) string {
	return strconv.FormatFloat(max(math.Ceil(minutes-1.0/60), 0), 'f', 0, 64)
}

// estimate is the caution that every lethality carries.
func estimate() figure.Caution {
	return figure.Caution{
		Code: "estimate", Title: "An estimate for substrate", Weight: figure.Note,
		Text: "The figure holds for wet heat and counts to two digits at most. It validates no food: sealed wet grain kept warm can carry botulism, so never eat it or feed it. " +
			"A logger, an indicator strip and a blank jar from every cook are the judges.",
	}
}

// below118 is the caution for lethality earned where the model flatters.
func below118(share float64) figure.Caution {
	return figure.Caution{
		Code: "below_118", Title: "Most of it was earned below 118 °C", Weight: figure.Care,
		Text: strconv.FormatFloat(100*share, 'f', 0, 64) + " % of the lethality is from below 118 °C, where one z " +
			"from 121.1 °C down can say far too much. Plan for more.",
	}
}

// dryPockets is the caution on heat that is not wet.
func dryPockets() figure.Caution {
	return figure.Caution{
		Code: "wet_heat_only", Title: "Wet heat only", Weight: figure.Note,
		Text: "Unhydrated kernels, dry sawdust and tight foil are dry heat, where spores last for hours.",
	}
}
