package lab

import (
	"slices"

	"pinset/internal/figure"
)

// Inoculation is a culture put into one jar.
type Inoculation struct {
	Entry
	Jar      JarID
	Culture  CultureID
	Means    Means
	Amount   string // as typed, such as "2 mL"
	Override string // why a jar that was held back got it all the same
}

// HeldBack says why a jar must not be inoculated, "" if nothing speaks
// against it: blanks never are, a jar carries one culture, and a jar whose
// cook did not hold waits for a stated reason.
func (j Jar) HeldBack(s Standing, cook CookState) string {
	switch {
	case j.Blank:
		return "it is a blank, which is never inoculated"
	case !s.Inoculated.IsZero():
		return "it is inoculated already"
	case s.Fate == Lost:
		return "it is lost: " + s.Reason
	case cook == NotHeld:
		return "its cook did not hold"
	case cook == CookRunning:
		return "its cook is still running"
	}
	return ""
}

// Overridable reports whether a stated reason may set aside what holds j
// back: only a cook that did not hold.
func (j Jar) Overridable(s Standing, cook CookState) bool {
	return !j.Blank && s.Inoculated.IsZero() && s.Fate != Lost && cook == NotHeld
}

// Check returns i with its texts tidied, or an Invalid Problem.
func (i Inoculation) Check() (Inoculation, error) {
	if i.Culture == "" {
		return Inoculation{}, Invalidf("culture", "choose the culture that the jars get", "no culture is named")
	}
	if !slices.Contains(AllMeans, i.Means) {
		return Inoculation{}, Invalidf("means", "choose LC, agar, grain or spores", "%q is not a means of inoculation", figure.Clip(string(i.Means), 40))
	}
	var err error
	i.Override, err = Text("override", i.Override)
	return i, err
}
