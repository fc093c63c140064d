package lab

import (
	"slices"
	"strings"
	"time"

	"pinset/internal/figure"
)

// Factor is something that the arms of a trial may differ in.
type Factor string

// The factors. Treatment is anything that has no record of its own.
const (
	ByRecipe    Factor = "recipe"
	ByCulture   Factor = "culture"
	ByContainer Factor = "container"
	ByTreatment Factor = "treatment"
)

// Factors lists the factors in the order that pages offer them.
var Factors = []Factor{ByRecipe, ByCulture, ByContainer, ByTreatment}

// Arm is one of the things that a trial compares.
type Arm struct {
	Name      string          `json:"name"`
	Recipe    RecipeVersionID `json:"recipe,omitempty"`
	Culture   CultureID       `json:"culture,omitempty"`
	Container ContainerID     `json:"container,omitempty"`
	Treatment string          `json:"treatment,omitempty"`
	Levels    []string        `json:"levels,omitempty"` // of TrialDetails.Factors, one for each
}

// Trial is a planned comparison.
type Trial struct {
	ID       TrialID
	Name     string // unique
	Question string
	Differ   []Factor // what the arms are meant to differ in; none if it was not said
	Arms     []Arm
	Control  string  // the arm that is the usual, "" if none
	Matters  float64 // the smallest difference that matters, in MattersUnit
	Primary  string  // one of Outcomes: what decides
	Closing  Day
	Planned  time.Time
	Imported bool // taken from the grower's own sheet: no draw is known
	Details  TrialDetails
}

// TrialDetails is what else was settled when the trial was planned.
type TrialDetails struct {
	Blind   bool    `json:"blind,omitempty"`    // arms go by letters until the key is opened
	Spread  float64 `json:"cv_pct,omitempty"`   // between jars, that was planned with; 0 was not said
	Loss    float64 `json:"loss_pct,omitempty"` // share of jars that was expected to be lost
	Repeats TrialID `json:"repeats,omitempty"`  // the trial that this one repeats

	Factors []TrialFactor `json:"factors,omitempty"` // that the arms cross; none if each arm just stands for itself
	Over    []TrialOver   `json:"over,omitempty"`    // what else every arm is spread over
}

// TrialOver is something that varies over the jars of a trial and is not what
// it asks about, such as who inoculates. Every arm is spread over its levels.
type TrialOver struct {
	Is     string   `json:"is"` // one of Overs
	Levels []string `json:"levels"`
}

// What arms can be spread over besides cooks, layers and shelves.
const (
	OverLot    = "culture lot"
	OverPerson = "person"
	OverDay    = "day"
	OverRoom   = "room"
)

// Overs lists them in the order that pages offer them.
var Overs = []string{OverLot, OverPerson, OverDay, OverRoom}

// NewTrialOver returns what arms are spread over from what was typed, or an
// Invalid Problem at field.
func NewTrialOver(field, is string, levels []string) (TrialOver, error) {
	o := TrialOver{Is: strings.ToLower(strings.Join(strings.Fields(is), " "))}
	if !slices.Contains(Overs, o.Is) {
		return o, Invalidf(field, "choose "+strings.Join(Overs, ", "), "arms can not be spread over a %q", figure.Clip(is, 40))
	}
	for _, l := range levels {
		name, err := Name(o.Is, l)
		if err != nil {
			return o, moved(field, err)
		}
		if slices.ContainsFunc(o.Levels, func(x string) bool { return NameKey(x) == NameKey(name) }) {
			return o, Invalidf(field, "name each once", "%s is named twice", name)
		}
		o.Levels = append(o.Levels, name)
	}
	if n := len(o.Levels); n < 2 || n > 24 {
		return o, Invalidf(field, "name 2 to 24, or leave it out of the draw", "arms can not be spread over %d of %s", n, o.Is)
	}
	return o, nil
}

// DefaultMatters is the smallest difference that matters when the grower
// says nothing, in per cent.
const DefaultMatters = 20

// Check returns t with its texts tidied and defaults set, or an Invalid Problem.
func (t Trial) Check() (Trial, error) {
	var err error
	if t.Name, err = Name("trial", t.Name); err != nil {
		return Trial{}, err
	}
	if t.Question, err = Text("question", t.Question); err != nil {
		return Trial{}, err
	}
	if t.Differ, err = ParseFactors(t.Differ); err != nil {
		return Trial{}, err
	}
	if t.Matters == 0 {
		t.Matters = DefaultMatters
	}
	if !(t.Matters > 0 && t.Matters <= 200) {
		return Trial{}, Invalidf("matters", "write per cent, such as 20", "a difference of %g %% is out of the range 0 to 200 %%", t.Matters)
	}
	if t.Primary == "" {
		t.Primary = PerInoculated
	}
	if !isOutcome(t.Primary) {
		return Trial{}, Invalidf("primary", "choose inoculated, picked, fruited, clean, pins or colour", "%q is not an outcome", figure.Clip(t.Primary, 40))
	}
	if err := t.checkArms(); err != nil {
		return Trial{}, err
	}
	return t, t.checkFactors()
}

func (t Trial) checkArms() error {
	if len(t.Arms) < 2 || len(t.Arms) > 12 {
		return Invalidf("arms", "name 2 to 12 arms", "a trial compares at least 2 arms and at most 12, this has %d", len(t.Arms))
	}
	names := make(map[string]bool)
	for i := range t.Arms {
		name, err := Name("arm", t.Arms[i].Name)
		if err != nil {
			return err
		}
		t.Arms[i].Name = name
		if names[NameKey(name)] {
			return Invalidf("arms", "give each arm a name of its own", "two arms are called %s", name)
		}
		names[NameKey(name)] = true
	}
	if t.Control != "" && !names[NameKey(t.Control)] {
		return Invalidf("control", "name one of the arms", "%q is not an arm of this trial", figure.Clip(t.Control, 40))
	}
	return nil
}

// ParseFactors returns what arms differ in, without repeats and in the order
// of Factors, or an Invalid Problem. Nothing said is treatment.
func ParseFactors[S ~string](words []S) ([]Factor, error) {
	var out []Factor
	for _, w := range words {
		f := Factor(strings.ToLower(strings.TrimSpace(string(w))))
		if f == "" || slices.Contains(out, f) {
			continue
		}
		if !slices.Contains(Factors, f) {
			return nil, Invalidf("arms_differ_in", "choose recipe, culture, container or treatment", "arms can not differ in %q", figure.Clip(string(w), 40))
		}
		out = append(out, f)
	}
	if len(out) == 0 {
		return []Factor{ByTreatment}, nil
	}
	slices.SortFunc(out, func(a, b Factor) int { return slices.Index(Factors, a) - slices.Index(Factors, b) })
	return out, nil
}

// Differing returns the factors in which the arms really differ: those for
// which not all arms name the same thing.
func (t Trial) Differing() []Factor {
	var out []Factor
	for _, f := range Factors {
		for _, a := range t.Arms[1:] {
			if a.of(f) != t.Arms[0].of(f) {
				out = append(out, f)
				break
			}
		}
	}
	return out
}

func (a Arm) of(f Factor) string {
	switch f {
	case ByRecipe:
		return string(a.Recipe)
	case ByCulture:
		return string(a.Culture)
	case ByContainer:
		return string(a.Container)
	}
	return a.Treatment
}

// Allotment is who got what by lot: the draw, kept so that it can be drawn
// again. A changed plan gets a successor.
type Allotment struct {
	ID        AllotmentID
	Trial     TrialID
	Batch     BatchID
	Procedure string // name of the drawing procedure
	Version   int    // of the procedure
	Seed      uint64
	Bound     string // the imbalance bound in words
	Design    []byte // JSON that the procedure draws from, with the seed
	Made      time.Time
	Succeeds  AllotmentID // "" for the first
	Stage     AllotStage
}

// AllotStage says what an allotment dealt out.
type AllotStage string

// The stages at which jars are allotted. Each keeps its own draw.
const (
	AtMaking AllotStage = "made"  // arms to places in the cooker
	AtLight  AllotStage = "light" // jars to places in the light
)
