package lab

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
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

// Sources of the windows.
const (
	speciesBook = "Stamets 2000, Growing Gourmet and Medicinal Mushrooms, 3rd ed., ch. 21"
	byHand      = "the grower's own limit"
)

// speciesSpans are days of the run to full cover, to pins after it, and to a
// pick after these. For a species that needs light for its colour, pins count
// from the light.
type speciesSpans struct {
	names            []string // any of them in what the grower calls the species
	run, pins, fruit [2]int
	light            bool
	colour           [2]int
	lateRun          int
	latePins         int
	source           string
}

// species are published spans; where a source gives one figure, it is both
// ends. What is late for Cordyceps militaris is common practice, no source:
// more than 21 days to full cover, and to pins after the light. For the
// others it is the end of the span.
var species = []speciesSpans{
	{
		names: []string{"militaris", "cordyceps"}, run: [2]int{7, 14}, pins: [2]int{7, 14}, fruit: [2]int{14, 30},
		light: true, colour: [2]int{3, 7}, lateRun: 22, latePins: 22, source: commonPractice,
	},
	{names: []string{"eryngii", "king oyster"}, run: [2]int{12, 16}, pins: [2]int{4, 5}, fruit: [2]int{4, 8}, source: speciesBook},
	{names: []string{"ostreatus", "oyster"}, run: [2]int{12, 21}, pins: [2]int{3, 5}, fruit: [2]int{4, 7}, source: speciesBook},
	{names: []string{"hericium", "erinaceus", "lion"}, run: [2]int{10, 14}, pins: [2]int{3, 5}, fruit: [2]int{4, 5}, source: speciesBook},
	{names: []string{"lentinula", "edodes", "shiitake"}, run: [2]int{35, 70}, pins: [2]int{5, 7}, fruit: [2]int{5, 8}, source: speciesBook},
	{names: []string{"ganoderma", "lingzhi", "reishi"}, run: [2]int{10, 20}, pins: [2]int{14, 28}, fruit: [2]int{60, 60}, source: speciesBook},
	{names: []string{"grifola", "maitake"}, run: [2]int{14, 60}, pins: [2]int{5, 10}, fruit: [2]int{10, 14}, source: speciesBook},
	{names: []string{"flammulina", "velutipes", "filiformis", "enoki"}, run: [2]int{14, 18}, pins: [2]int{3, 5}, fruit: [2]int{5, 8}, source: speciesBook},
	{names: []string{"aegerita", "cyclocybe", "agrocybe"}, run: [2]int{20, 28}, pins: [2]int{7, 14}, fruit: [2]int{4, 6}, source: speciesBook},
	{names: []string{"nameko"}, run: [2]int{14, 14}, pins: [2]int{7, 10}, fruit: [2]int{5, 8}, source: speciesBook},
	{names: []string{"auricularia"}, run: [2]int{25, 40}, pins: [2]int{5, 10}, fruit: [2]int{5, 7}, source: speciesBook},
	{names: []string{"trametes", "versicolor"}, run: [2]int{18, 20}, pins: [2]int{7, 14}, fruit: [2]int{42, 70}, source: commonPractice},
}

func spansOf(name string) (speciesSpans, bool) {
	name = strings.ToLower(name)
	for _, s := range species {
		if slices.ContainsFunc(s.names, func(n string) bool { return strings.Contains(name, n) }) {
			return s, true
		}
	}
	return speciesSpans{}, false
}

// NeedsLight reports whether jars of the species are moved to light when they
// are covered.
func NeedsLight(speciesName string) bool {
	s, ok := spansOf(speciesName)
	return ok && s.light
}

// NextWindow returns when the stage after reached is expected on a jar of the
// species, with the grower's own limits on top, and whether anything is known
// of it. A covered jar that needs light waits for a hand, not for a day.
// Colour is looked for only by those who set a limit for it: few log it.
func NextWindow(speciesName string, reached Stage, own StageLimits) (StageWindow, bool) {
	s, known := spansOf(speciesName)
	w := StageWindow{Source: s.source}
	span := func(stage, after Stage, days [2]int, late int) {
		w.Stage, w.After, w.From, w.To, w.Late = stage, after, days[0], days[1], late
		if late == 0 {
			w.Late = days[1] + 1
		}
	}
	switch {
	case reached == "" || reached == Growth:
		span(Cover, "", s.run, s.lateRun)
	case reached == Cover && s.light, reached == Ready:
		return StageWindow{}, false
	case reached == Light && s.light && own[Colour] > 0:
		span(Colour, Light, s.colour, 0)
	case reached == Light || reached == Colour:
		span(Pins, Light, s.pins, s.latePins)
	case reached == Pins:
		span(Ready, Pins, s.fruit, 0)
	default:
		span(Pins, Cover, s.pins, s.latePins)
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
			return nil, Invalidf("limits", "write a stage and a day on each line, such as: pins 29", "%q is no limit of cover, colour, pins, ready, air or check", clip(strings.TrimSpace(line), 40))
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
