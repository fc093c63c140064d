package app

import (
	"context"
	"fmt"
	"math"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// kind is how the cooker of the cook shows that it is at its target: as
// written down, or as the target of the cook implies.
func (c cookFacts) kind() lab.CookerKind {
	switch {
	case c.cooker != nil && c.cooker.Figures.Kind != "":
		return c.cooker.Figures.Kind
	case c.celsius == nil:
		return ""
	case c.psi <= 0.1 || *c.celsius <= steamerTarget:
		return lab.Steamer
	}
	return lab.Autoclave
}

// kindOf is the kind of cooker that c runs in.
func kindOf(ctx context.Context, r store.Reader, c lab.Cook) (lab.CookerKind, error) {
	facts := cookFacts{cook: c, altitude: c.Altitude}
	var err error
	if facts.cooker, err = cookerOf(ctx, r, c.Cooker); err != nil {
		return "", err
	}
	facts.readPlace()
	return facts.kind(), nil
}

// manualCaution is the first caution of a kind of cooker.
func manualCaution(kind lab.CookerKind) figure.Caution {
	c := pressureCaution
	if kind == lab.Steamer {
		c.Text = "Never dry, never a lid that seals: a steamer must not hold pressure. Lift the lid away from the face. Jars stay hot inside and can boil over or burst."
	}
	return c
}

// steamerTarget is the highest target in °C that is taken for that of a
// steamer, where the kind of cooker is not said: 100 °C is what people write
// for steam without pressure at any height.
const steamerTarget = 100.5

// capSteam takes the boiling point of the place for a steamer that is aimed
// higher.
func (c *cookFacts) capSteam() {
	boiling, ok := boilingAt(c.altitude)
	if !ok || c.celsius == nil || c.kind() != lab.Steamer || *c.celsius <= boiling+0.3 {
		return
	}
	asked := *c.celsius
	c.celsius, c.psi, c.cappedFrom = &boiling, 0, asked
}

// ventMin is how long this kind of cooker is vented by hand before its hold.
func (c cookFacts) ventMin() float64 {
	if k := c.kind(); k == lab.Steamer || k == lab.Autoclave {
		return 0
	}
	return 10
}

// aim says the target in words, "" if there is none.
func (c cookFacts) aim() string {
	switch {
	case !c.known:
		return c.cook.Gauge
	case c.celsius != nil:
		return fmt.Sprintf("%.4g °C", math.Round(*c.celsius*10)/10)
	}
	return c.cook.Gauge
}

// StepWords is how a step or a mark is offered.
type StepWords struct {
	Label, Hint string
}

// pressureWords are those of a pot under pressure; other kinds change some.
var pressureWords = map[lab.Event]StepWords{
	lab.HeatOn:   {"Heat on", "the come-up begins"},
	lab.Venting:  {"Venting", "steam blows steadily, 10 min"},
	lab.WeightOn: {"Weight on", "the vent is closed"},
	lab.Reached:  {"Target reached", "the hold begins"},
	lab.Broken:   {"Pressure lost", "the stretch ends here"},
	lab.Back:     {"Back at target", "a new stretch begins"},
	lab.HeatOff:  {"Heat off", "the hold ends"},
	lab.Zero:     {"Zero pressure", "then wait 10 min"},
	lab.Opened:   {"Opened", "at zero pressure, lid away from the face"},
}

// ownWords are those in which a kind of cooker differs.
var ownWords = map[lab.CookerKind]map[lab.Event]StepWords{
	lab.WeightCooker: {
		lab.Reached: {"Weight rocks", "the hold begins"},
		lab.Broken:  {"Weight stopped", "the stretch ends here"},
		lab.Back:    {"Rocks again", "a new stretch begins"},
	},
	lab.DialCooker: {
		lab.WeightOn: {"Vent closed", "the weight or petcock"},
		lab.Reached:  {"Dial at target", "the hold begins"},
	},
	lab.Steamer: {
		lab.Reached: {"Full steam", "at the target all round: the hold begins"},
		lab.Broken:  {"Steam lost", "the stretch ends here"},
		lab.Back:    {"Full steam again", "a new stretch begins"},
		lab.Opened:  {"Opened", "once it has stopped steaming, lid away from the face"},
	},
	lab.Autoclave: {
		lab.HeatOn:  {"Programme started", "the come-up begins"},
		lab.Reached: {"Temperature reached", "the hold begins"},
		lab.Broken:  {"Temperature lost", "the stretch ends here"},
		lab.Back:    {"Temperature back", "a new stretch begins"},
		lab.HeatOff: {"Hold ended", "the programme begins to cool"},
		lab.Zero:    {"Chamber at zero", "then wait 10 min"},
		lab.Opened:  {"Opened", "door a crack first, face away"},
	},
}

// words returns the words of the buttons of this kind of cooker.
func (c cookFacts) words() map[lab.Event]StepWords {
	out := make(map[lab.Event]StepWords, len(pressureWords))
	for e, w := range pressureWords {
		out[e] = w
	}
	for e, w := range ownWords[c.kind()] {
		out[e] = w
	}
	return out
}

// alarmText is what the alarms of a kind of cooker say.
type alarmText struct{ late, water, enough, open string }

func (c cookFacts) alarmWords() alarmText {
	switch c.kind() {
	case lab.Steamer:
		return alarmText{
			"It should have reached full steam by now", "Think of the water: look, and top up with boiling water",
			"The hold is long enough: heat off", "Ten minutes since heat off: it may be opened once it has stopped steaming",
		}
	case lab.Autoclave:
		return alarmText{
			fmt.Sprintf("It should have reached %s by now", orWord(c.aim(), "its temperature")), "Think of the water: is the charge or the supply still there?",
			"The hold is long enough: end it", "Ten minutes since zero pressure: it may be opened",
		}
	}
	return alarmText{
		"It should have reached its pressure by now", "Think of the water: does it still steam evenly?",
		"The hold is long enough: heat off", "Ten minutes since zero pressure: it may be opened",
	}
}

func orWord(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// What every way through a cook begins and ends with.
var (
	manualStep = RunStep{What: "The maker's manual", Caution: "It goes before all that is said here. Check gasket, vent and plug; rack in; lids loose or filtered, never tight; jars not touching."}
	loadStep   = RunStep{What: "The load", Caution: "Wetted through: dry kernels, dry sawdust and tight foil are dry heat. Grain that stood wet and warm for more than 12 to 24 h carries more; a cook that was broken off begins anew. No cracked glass, no plastic but polypropylene (5); room for swelling and foam."}
	afterStep  = RunStep{What: "Afterwards", Caution: "Holes need filters that stay dry and never face down; a sealed lid starves the culture. Many jars raise the CO2 of a room, and spores at picking are an allergen: air it. Nothing here was made fit to eat or to store as food."}
)

const openCaution = "Lid away from the face. No hot glass on a cold bench. Inoculate when a core is below 30 °C by a thermometer."

// runSteps leads through a cook, the maker's manual first, in the words of
// its kind of cooker. The cautions are those of USDA, Complete Guide to Home
// Canning (2015), and its extension services; the wait of 10 min after zero
// pressure is their current text, from memory. The ways of steamer and
// autoclave are common practice, no source.
func (c cookFacts) runSteps() []RunStep {
	steps := []RunStep{manualStep, loadStep}
	switch c.kind() {
	case lab.Steamer:
		steps = append(steps, c.steamerSteps()...)
	case lab.Autoclave:
		steps = append(steps, c.autoclaveSteps()...)
	default:
		steps = append(steps, c.pressureSteps()...)
	}
	steps = append(steps, afterStep)
	for i, s := range steps {
		if s.Event == "" {
			continue
		}
		if at, ok := c.stepAt(s.Event); ok {
			steps[i].At = at
		} else if at, ok := c.markAt(s.Event); ok {
			steps[i].At = at
		}
	}
	return steps
}

func (c cookFacts) pressureSteps() []RunStep {
	reached := "Not before the gauge stands at the target. Turn the heat down until it just stays there."
	closed := RunStep{Event: lab.WeightOn, What: "Weight on, vent closed", Caution: "Never block or load a weight or valve."}
	switch c.kind() {
	case lab.WeightCooker:
		reached = "Not before the weight rocks by itself, steadily. Turn the heat down until it just keeps rocking, as often as the manual says."
	case lab.DialCooker:
		closed.What = "Vent closed"
		reached = "Not before the dial stands at the target. Turn the heat down until it just stays there; a dial is to be tested every year."
	}
	if c.celsius != nil && c.psi > 0.1 {
		reached += fmt.Sprintf(" %s is %.1f psi on a right gauge here.", c.aim(), c.psi)
	}
	return []RunStep{
		{Event: lab.WaterIn, What: "Water in", Caution: "At least what is reckoned, and never less than the manual says. Log the litres poured."},
		{Event: lab.HeatOn, What: "Heat on", Caution: "Stay near. With gas for hours: air the room, stable hob, children away."},
		{Event: lab.Venting, What: "Vent", Caution: "Steam must blow steadily for 10 min. A gauge can not see trapped air."},
		closed,
		{Event: lab.Reached, What: "Target reached: the hold begins", Caution: reached},
		{What: "If the pressure is lost", Caution: "Write when, and when it is back: the core cools while the pot recovers, and the whole hold begins anew."},
		{Event: lab.HeatOff, What: "Heat off", Caution: "Do not move the pot, do not cool it with water, do not vent it fast: jars boil over and suck air."},
		{Event: lab.Zero, What: "Zero pressure", Caution: "It comes down by itself, in 30 to 45 min or more."},
		{What: "Wait 10 min", Caution: "What is in the jars is still above 100 °C and can flash into steam."},
		{Event: lab.Opened, What: "Opened", Caution: openCaution},
	}
}

func (c cookFacts) steamerSteps() []RunStep {
	return []RunStep{
		{Event: lab.WaterIn, What: "Water in", Caution: "At least what is reckoned, below the rack. Log the litres poured. Have boiling water ready: long steaming boils much away."},
		{Event: lab.HeatOn, What: "Heat on", Caution: "Stay near. With gas for hours: air the room, stable hob, children away. The lid lies loose: a steamer must never hold pressure."},
		{Event: lab.Reached, What: fmt.Sprintf("Full steam, %s: the hold begins", orWord(c.aim(), "at the target")), Caution: "Not before steam comes out all round and a thermometer in it stands still at the target, beside the coldest jars. It gets no hotter than water boils at your altitude."},
		{What: "Keep the steam", Caution: "Top up with boiling water only: cold water ends the steam, and the hold begins anew. Lift the lid away from the face."},
		{Event: lab.HeatOff, What: "Heat off", Caution: "Leave the lid on: what cools draws in air, through filters and not past a lid that was lifted."},
		{What: "Wait until it has stopped steaming", Caution: "Ten minutes at least. What is in the jars is near boiling and can still foam over."},
		{Event: lab.Opened, What: "Opened", Caution: openCaution},
	}
}

func (c cookFacts) autoclaveSteps() []RunStep {
	return []RunStep{
		{Event: lab.WaterIn, What: "Water and drain", Caution: "Charge or supply as the manual says; the strainer of the drain clear. Log the litres if you pour them."},
		{Event: lab.HeatOn, What: "Programme started", Caution: fmt.Sprintf("One that removes the air first and is set to %s. For jars and liquids a slow let-down, never a fast one.", orWord(c.aim(), "your target"))},
		{Event: lab.Reached, What: fmt.Sprintf("%s reached: the hold begins", orWord(c.aim(), "Target")), Caution: "By the sensor at the coldest place, often the drain, or better by one in a jar; not by that of the wall."},
		{Event: lab.HeatOff, What: "Hold ended", Caution: "Let it come down slowly by itself: jars boil over and suck air if it is let off fast."},
		{Event: lab.Zero, What: "Chamber at zero pressure", Caution: "Never force a door or its lock."},
		{What: "Wait 10 min", Caution: "What is in the jars is still above 100 °C and can flash into steam."},
		{Event: lab.Opened, What: "Opened", Caution: "Door a crack first, face and arms away. No hot glass on a cold bench. Inoculate when a core is below 30 °C by a thermometer."},
	}
}
