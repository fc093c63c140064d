package lab

import (
	"slices"
	"strconv"
	"strings"

	"pinset/internal/figure"
)

// Stage is how far a jar has come.
type Stage string

// The stages in their order. A jar may skip some.
const (
	Growth Stage = "growth" // first growth from the means
	Cover  Stage = "cover"  // the whole surface is covered
	Light  Stage = "light"  // moved to light
	Colour Stage = "colour" // first colour
	Pins   Stage = "pins"   // first pins
	Ready  Stage = "ready"  // fruit ready to pick
)

// Stages lists the stages in their order.
var Stages = []Stage{Growth, Cover, Light, Colour, Pins, Ready}

func (s Stage) rank() int { return slices.Index(Stages, s) }

// Label says the stage in a few words.
func (s Stage) Label() string {
	switch s {
	case Growth:
		return "first growth"
	case Cover:
		return "full cover"
	case Light:
		return "in the light"
	case Colour:
		return "first colour"
	case Pins:
		return "pins"
	case Ready:
		return "ready to pick"
	}
	return ""
}

// Sign is one of a short list of things that one can see, smell or count.
type Sign string

// Signs lists the signs in the order that pages offer them. What a sign
// points to is not said here: one look is no diagnosis.
var Signs = []Sign{"clean", "green", "grey fluff", "black dots", "orange powder", "slime", "sour smell", "drops", "dry", "aborts"}

// Fouls reports whether s may mean that a jar is fouled. Such a jar is left
// shut until it is out of the room (common practice, no source).
func (s Sign) Fouls() bool {
	return slices.Contains([]Sign{"green", "grey fluff", "black dots", "orange powder", "slime", "sour smell"}, s)
}

// AsBefore is the sign that a jar was looked at and nothing has changed. It
// is not offered with the others, for it is said of all the rest at once.
const AsBefore Sign = "as before"

// mostCounted bounds a count of pins or aborts on one jar.
const mostCounted = 10000

// Seen is one observation on one jar.
type Seen struct {
	Entry
	Jar    JarID
	Stage  Stage // "" if none
	Sign   Sign  // "" if none
	Fate   Fate  // "" if it does not settle the fate
	Reason string
	Count  int // of what Stage or Sign names, pins or aborts; of colour how deep, 1 to 4; 0 is not counted
	// Covered is how much of the surface was covered, per cent; 0 is not read.
	Covered int
	Note    string
}

// Check returns s with its texts tidied, or an Invalid Problem: it says at
// least one thing, in words that are known, and a loss has a reason.
func (s Seen) Check() (Seen, error) {
	var err error
	if s.Note, err = Text("note", s.Note); err != nil {
		return Seen{}, err
	}
	s.Reason = strings.Join(strings.Fields(s.Reason), " ")
	s = s.staged()
	switch {
	case s.Stage != "" && s.Stage.rank() < 0:
		return Seen{}, Invalidf("stage", "choose growth, cover, light, colour, pins or ready", "%q is not a stage", figure.Clip(string(s.Stage), 40))
	case s.Count < 0 || s.Count > mostCounted:
		return Seen{}, Invalidf("count", "count again", "%d can not be counted on one jar", s.Count)
	case s.Stage == Colour && s.Count > MostColour:
		return Seen{}, Invalidf("count", "write 1 for the first tint to 4 for the deepest", "a colour of %d is out of the range 1 to 4", s.Count)
	case s.Count > 0 && s.Stage != Pins && s.Stage != Ready && s.Stage != Colour && s.Sign != "aborts":
		return Seen{}, Invalidf("count", "choose pins, ready or aborts with it, or colour with how deep it is", "a count of %d belongs to nothing", s.Count)
	case s.Covered < 0 || s.Covered > 100:
		return Seen{}, Invalidf("covered", "write per cent of the surface, 1 to 100", "%d %% can not be covered", s.Covered)
	case s.Covered > 0 && s.Stage != Growth && s.Stage != Cover:
		return Seen{}, Invalidf("covered", "log the cover alone, and the stage after it", "a cover of %d %% belongs to growth, not to %s", s.Covered, s.Stage.Label())
	case s.Covered > 0 && s.Covered < 100 && s.Stage == Cover:
		return Seen{}, Invalidf("covered", "leave the stage out, or write 100", "full cover is not %d %%", s.Covered)
	case s.Sign != "" && s.Sign != AsBefore && !slices.Contains(Signs, s.Sign):
		return Seen{}, Invalidf("sign", "choose one of the signs, or write a note", "%q is not a sign", figure.Clip(string(s.Sign), 40))
	case s.Fate != "" && !slices.Contains([]Fate{Growing, Barren, Lost, Spent}, s.Fate):
		return Seen{}, Invalidf("fate", "choose growing, barren, lost or spent; a pick is entered with its grams", "%q is not a fate that can be seen", figure.Clip(string(s.Fate), 40))
	case s.Fate == Lost && s.Reason == "":
		return Seen{}, Invalidf("reason", "write fouled, broken, sampled or your own word", "a lost jar needs a reason")
	case s.Stage == "" && s.Sign == "" && s.Fate == "" && s.Note == "" && !s.Withdrawn:
		return Seen{}, Invalidf("stage", "choose a stage, a sign or a fate, or write a note", "nothing was seen")
	}
	return s, nil
}

// staged names the stage that a cover tells of, where none was named.
func (s Seen) staged() Seen {
	switch {
	case s.Stage != "" || s.Covered == 0:
	case s.Covered < 100:
		s.Stage = Growth
	default:
		s.Stage = Cover
	}
	return s
}

// About returns what was seen in a few words: "pins", "lost: fouled".
func (s Seen) About() string {
	var parts []string
	switch {
	case s.Covered > 0 && s.Covered < 100:
		parts = append(parts, strconv.Itoa(s.Covered)+" % covered")
	case s.Stage != "":
		parts = append(parts, s.Stage.Label())
	}
	if s.Sign != "" {
		parts = append(parts, string(s.Sign))
	}
	if s.Fate != "" {
		word := string(s.Fate)
		if s.Reason != "" {
			word += ": " + s.Reason
		}
		parts = append(parts, word)
	}
	if len(parts) == 0 {
		return "note"
	}
	switch {
	case s.Count > 0 && s.Stage == Colour:
		parts[0] = "colour " + strconv.Itoa(s.Count)
	case s.Count > 0:
		parts[0] = strconv.Itoa(s.Count) + " " + parts[0]
	}
	return strings.Join(parts, ", ")
}
