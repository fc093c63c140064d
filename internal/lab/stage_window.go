package lab

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/figure"
)

// StageWindow is when a stage is expected: whole days after another one.
type StageWindow struct {
	Stage    Stage
	After    Stage  // days are counted from it; "" is the inoculation
	From, To int    // expected in these days
	Late     int    // from this day on it is late; 0 is never
	Own      bool   // Late is the grower's own limit
	Source   string // of the span
}

// byHand is the source of what the grower set.
const byHand = "the grower's own limit"

// NextWindow returns when the stage after reached is expected on a jar of the
// profile, with the grower's own limits on top, and whether anything is known
// of it. A covered jar that needs light waits for a hand, not for a day.
// Colour is looked for only by those who set a limit for it: few log it.
//
// What is late for Cordyceps militaris is common practice, no source: more
// than 21 days to full cover, and to pins after the light. For the others it
// is the day after the span.
func (p Profile) NextWindow(reached Stage, own StageLimits) (StageWindow, bool) {
	var w StageWindow
	var known bool
	span := func(stage, after Stage, phase Phase, what Quantity, late int) {
		w.Stage, w.After = stage, after
		var t Target
		if t, known = p.Target(phase, what); known {
			w.From, w.To, w.Source = int(t.From), int(t.To), t.Source
			if w.Late = late; late == 0 {
				w.Late = w.To + 1
			}
		}
	}
	switch {
	case reached == "" || reached == Growth:
		span(Cover, "", Run, Days, p.lateRun)
	case reached == Cover && p.Light, reached == Ready:
		return StageWindow{}, false
	case reached == Light && p.Light && own[Colour] > 0:
		span(Colour, Light, Pinning, ColourDays, 0)
	case reached == Light || reached == Colour:
		span(Pins, Light, Pinning, Days, p.latePins)
	case reached == Pins:
		span(Ready, Pins, Fruiting, Days, 0)
	default:
		span(Pins, Cover, Pinning, Days, p.latePins)
	}
	if late, set := own[w.Stage]; set {
		w.Late, w.Own = late, true
		if !known {
			w.From, w.To, w.Source = late-1, late-1, byHand
		}
		return w, true
	}
	return w, known
}

// Published returns the days that are given from one stage, or from "" the
// inoculation, to a later one, with their source, and whether they are. Spans
// that follow each other are added; no wait for a hand is in them.
func (p Profile) Published(after, stage Stage) (days [2]int, source string, ok bool) {
	ok = after.rank() < stage.rank()
	add := func(phase Phase, what Quantity) {
		t, known := p.Target(phase, what)
		ok = ok && known
		days[0], days[1], source = days[0]+int(t.From), days[1]+int(t.To), t.Source
	}
	if stage == Growth {
		return p.growth, commonPractice, ok && p.growth[0] > 0
	}
	if after == "" {
		add(Run, Days)
	}
	switch {
	case stage == Colour:
		add(Pinning, ColourDays)
	case stage == Pins, stage == Ready && after != Pins:
		add(Pinning, Days)
	}
	if stage == Ready {
		add(Fruiting, Days)
	}
	return days, source, ok && days[0] > 0 && stage != Light
}

// StageLimits are the grower's own: the day from which a stage is late; of a
// chore, the days after which it comes again.
type StageLimits map[Stage]int

// limitStages can be late, in the order of their settings.
var limitStages = []Stage{Cover, Colour, Pins, Ready, Air.Stage(), Check.Stage()}

// ParseStageLimits reads limits as typed, one a line: "cover 22", "pins 29",
// "air 3" for a chore every 3 days.
// A day counts from the inoculation for cover, from the light for colour,
// from the light or full cover for pins, from pins for ready.
func ParseStageLimits(typed string) (StageLimits, error) {
	limits := StageLimits{}
	for line := range strings.Lines(typed) {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		days, err := strconv.Atoi(words[len(words)-1])
		if len(words) != 2 || err != nil || !slices.Contains(limitStages, Stage(strings.ToLower(words[0]))) {
			return nil, Invalidf("limits", "write a stage and a day on each line, such as: pins 29", "%q is no limit of cover, colour, pins, ready, air or check", figure.Clip(strings.TrimSpace(line), 40))
		}
		if days < 1 || days > 400 {
			return nil, Invalidf("limits", "write the first day that is late, from 1 to 400", "day %d can not be a limit", days)
		}
		limits[Stage(strings.ToLower(words[0]))] = days
	}
	return limits, nil
}

// String prints the limits as they are typed.
func (l StageLimits) String() string {
	var b strings.Builder
	for _, s := range limitStages {
		if days, ok := l[s]; ok {
			fmt.Fprintf(&b, "%s %d\n", s, days)
		}
	}
	return strings.TrimSpace(b.String())
}
