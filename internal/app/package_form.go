package app

import (
	"encoding/json"
	"time"

	"pinset/internal/datapackage"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// The tables of a package and its two documents.
const (
	jarsTable   = "jars"
	layoutTable = "layout"
	seenTable   = "seen"
	picksTable  = "picks"
	cooksTable  = "cooks"
	planFile    = "plan"
	answerFile  = "analysis"
)

var (
	notBelowZero = 0.0
	oneHundred   = 100.0
)

func required(name, title string) datapackage.Field {
	return datapackage.Field{Name: name, Type: "string", Title: title, Constraints: &datapackage.Constraints{Required: true}}
}

func plainField(name, title string) datapackage.Field {
	return datapackage.Field{Name: name, Type: "string", Title: title}
}

func dayField(name, title string) datapackage.Field {
	return datapackage.Field{Name: name, Type: "date", Title: title, Unit: "calendar day of the farm"}
}

func amountField(name, title, unit string) datapackage.Field {
	return datapackage.Field{Name: name, Type: "number", Title: title, Unit: unit, Constraints: &datapackage.Constraints{Minimum: &notBelowZero}}
}

func countField(name, title string) datapackage.Field {
	return datapackage.Field{Name: name, Type: "integer", Title: title, Constraints: &datapackage.Constraints{Minimum: &notBelowZero}}
}

func yesField(name, title string) datapackage.Field {
	return datapackage.Field{Name: name, Type: "boolean", Title: title, Constraints: &datapackage.Constraints{Required: true}}
}

func ofFates(name, title string) datapackage.Field {
	return datapackage.Field{Name: name, Type: "string", Title: title, Constraints: &datapackage.Constraints{Enum: []string{
		string(lab.Growing), string(lab.Picked), string(lab.Barren), string(lab.Lost), string(lab.Spent),
	}}}
}

func ofStages(name, title string) datapackage.Field {
	f := datapackage.Field{Name: name, Type: "string", Title: title, Constraints: &datapackage.Constraints{}}
	for _, s := range lab.Stages {
		f.Constraints.Enum = append(f.Constraints.Enum, string(s))
	}
	return f
}

// ofJars says that a column names jars.
var ofJars = []datapackage.ForeignKey{{Fields: []string{"jar"}, Reference: datapackage.Reference{Resource: jarsTable, Fields: []string{"jar"}}}}

var jarFields = []datapackage.Field{
	required("jar", "batch and number"),
	required("batch", "made together"),
	{Name: "number", Type: "integer", Title: "in its batch", Constraints: &datapackage.Constraints{Required: true}},
	yesField("blank", "cooked and never inoculated, to show whether the cook held"), plainField("arm", "what it got, by the name in the plan"),
	plainField("recipe", "with its version"), plainField("culture", "that it was inoculated with"), plainField("container", "kind of vessel"), plainField("mix_made", "making of the mix"),
	amountField("dry_g", "dry substrate", "g"), yesField("inoculated", "whether it was"), dayField("inoculated_on", "day of it, blank if not known"), plainField("inoculated_by", "initials"),
	ofFates("fate", "what became of it"), dayField("fate_on", "day of that, blank if not known"), plainField("reason", "why it was lost"),
}

var layoutFields = []datapackage.Field{
	required("jar", "batch and number"), plainField("cook", "run of the cooker"), countField("layer", "in the cooker, 1 is the bottom"), plainField("shelf", "where it stands"),
}

var seenFields = []datapackage.Field{
	required("jar", "batch and number"), dayField("seen_on", "blank if not known"), ofStages("stage", "how far it had come"),
	{Name: "cover_pct", Type: "integer", Title: "how much of the surface was covered", Unit: "%", Constraints: &datapackage.Constraints{Minimum: &notBelowZero, Maximum: &oneHundred}},
	plainField("sign", "what one saw or smelt"), countField("count", "of pins or aborts"), ofFates("fate", "if it was settled by this"), plainField("reason", "why it was lost"),
}

var pickFields = []datapackage.Field{
	required("jar", "batch and number"), dayField("picked_on", "blank if not known"), countField("flush", "1 is the first"), amountField("grams", "fresh", "g"),
}

var cookFields = []datapackage.Field{
	required("cook", "run of the cooker"), dayField("cooked_on", ""), amountField("hold_min", "that was needed", "min"), amountField("longest_min", "longest unbroken stretch at pressure", "min"),
	plainField("state", "whether it held"),
}

// packedPlan is how a trial was planned, without anything that only means
// something at the farm it is from.
type packedPlan struct {
	Name     string           `json:"name"`
	Question string           `json:"question"`
	Differ   []lab.Factor     `json:"arms_differ_in"`
	Arms     []packedArm      `json:"arms"`
	Control  string           `json:"control"`
	Matters  float64          `json:"matters_pct"`
	Primary  string           `json:"primary"`
	Closing  string           `json:"closing"` // day, "" if none
	Planned  time.Time        `json:"planned"`
	Blind    bool             `json:"blind"` // its key was closed: arms are letters, and no draw is told
	Details  lab.TrialDetails `json:"details"`
	Draws    []packedDraw     `json:"draws"`
}

// packedArm is one arm, by names.
type packedArm struct {
	Name      string   `json:"name"`
	Recipe    string   `json:"recipe,omitempty"`
	Culture   string   `json:"culture,omitempty"`
	Container string   `json:"container,omitempty"`
	Treatment string   `json:"treatment,omitempty"`
	Levels    []string `json:"levels,omitempty"`
}

// packedDraw is one allotment. The seed is text, for it has more digits than
// many programs keep of a number.
type packedDraw struct {
	Procedure string          `json:"procedure"`
	Version   int             `json:"version"`
	Seed      uint64          `json:"seed,string"`
	Bound     string          `json:"bound"`
	Stage     lab.AllotStage  `json:"stage"`
	Made      time.Time       `json:"made"`
	Succeeds  bool            `json:"succeeds"` // an earlier draw
	Design    json.RawMessage `json:"design"`
}

// packedAnswer is the analysis: what was judged, by what, and what came of it.
type packedAnswer struct {
	Version  string           `json:"version"` // of the computation
	Made     time.Time        `json:"made"`    // when it was judged
	Seed     *uint64          `json:"seed,string"`
	DataHash string           `json:"data_sha256"` // of data, written without spaces
	Data     json.RawMessage  `json:"data"`
	Result   json.RawMessage  `json:"answer"`
	Days     packedDays       `json:"days"`
	Records  []figure.Caution `json:"records_say"` // doubts that stood in the records, not in the figures
}

// packedDays is when the stages came, and how jars were covered.
type packedDays struct {
	Stages []StageDays `json:"stages"`
	Cover  *CoverDays  `json:"cover"`
}
