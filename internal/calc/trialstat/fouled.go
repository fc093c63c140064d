package trialstat

import (
	"encoding/json"
	"fmt"
	"math"

	"pinset/internal/figure"
)

// FouledInput is a table of jars and whether each fouled.
type FouledInput struct {
	Rows []FouledRow `json:"rows" jsonschema:"one row for each jar, the clean ones too"`
	Seed *uint64     `json:"seed,omitempty" jsonschema:"number that the deals behind p_adjusted start from; 0 if left out"`
}

// FouledRow is one jar. What is not recorded is left empty. Clean jars belong
// in the table as well: without them there is no rate.
type FouledRow struct {
	Jar           Label `json:"jar" jsonschema:"number or name of the jar"`
	Bad           Flag  `json:"bad" jsonschema:"whether it fouled: true or false, 1 or 0"`
	Blank         Flag  `json:"blank,omitempty" jsonschema:"whether it was never inoculated; left out, it was"`
	Cook          Label `json:"cook,omitempty" jsonschema:"cook that the jar was in"`
	LC            Label `json:"lc,omitempty" jsonschema:"jar of liquid culture that the dose came from"`
	Layer         Label `json:"layer,omitempty" jsonschema:"layer of the cooker"`
	Culture       Label `json:"culture,omitempty" jsonschema:"culture it was inoculated with"`
	MixMade       Label `json:"mix_made,omitempty" jsonschema:"which making of the mix"`
	IngredientLot Label `json:"ingredient_lot,omitempty" jsonschema:"lot of the ingredient in question"`
	Recipe        Label `json:"recipe,omitempty" jsonschema:"recipe of the substrate"`
	Container     Label `json:"container,omitempty" jsonschema:"kind of container"`
	Person        Label `json:"person,omitempty" jsonschema:"who inoculated it"`
	Day           Label `json:"day,omitempty" jsonschema:"day of inoculation"`
	Shelf         Label `json:"shelf,omitempty" jsonschema:"shelf it stood on"`
	Room          Label `json:"room,omitempty" jsonschema:"room it stood in"`
}

// Flag is yes or no. In JSON it may be true, false, 1 or 0.
type Flag bool

// UnmarshalJSON takes true, false, 1, 0 or null, which is no.
func (f *Flag) UnmarshalJSON(b []byte) error {
	var v any
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	switch v {
	case true, 1.0:
		*f = true
	case false, 0.0, nil:
		*f = false
	default:
		return fmt.Errorf("write true or false, not %s", b)
	}
	return nil
}

// FouledResult says which jars fouled, and with what they share. Blanks are in
// no count but their own.
type FouledResult struct {
	Bad      int              `json:"bad"`
	Total    int              `json:"total"`
	Sentence string           `json:"sentence"`
	Factors  []FouledFactor   `json:"factors"`
	Suspects []FouledSuspect  `json:"suspects"` // the strongest first
	Confused []FouledConfused `json:"confused"`
	Blanks   FouledBlanks     `json:"blanks"`
	Seed     uint64           `json:"seed"`
	Draws    int              `json:"draws"` // deals of the fouled jars behind p_adjusted; 0 if none
}

// FouledFactor is what one recorded factor shows. A p that can not be said is
// nil: a factor with one level, or with one for every jar, or no jar fouled, or
// all.
type FouledFactor struct {
	Name      string        `json:"name"`
	Levels    []FouledLevel `json:"levels"`           // the highest share first
	Unknown   int           `json:"unknown"`          // jars of which it is not recorded
	P         *float64      `json:"p"`                // that the levels share one rate, all totals given
	Method    string        `json:"method,omitempty"` // fisher, freeman_halton, or draws where those take too long
	Within    string        `json:"within,omitempty"` // the other suspect factor that p_within holds still
	PWithin   *float64      `json:"p_within"`         // the same among jars alike in that factor
	PAdjusted *float64      `json:"p_adjusted"`       // that any factor would look this bad by chance
}

// FouledLevel counts the jars of one level of a factor.
type FouledLevel struct {
	Level string `json:"level"`
	Bad   int    `json:"bad"`
	Total int    `json:"total"`
}

// FouledSuspect is a level whose jars fouled more often than the others.
type FouledSuspect struct {
	Factor      string   `json:"factor"`
	Level       string   `json:"level"`
	Bad         int      `json:"bad"`
	Total       int      `json:"total"`
	OtherBad    int      `json:"other_bad"`
	OtherTotal  int      `json:"other_total"`
	P           *float64 `json:"p"`           // of this level against the others, for all levels of the factor together
	Inseparable []string `json:"inseparable"` // levels of other factors that are the very same jars
	Sentence    string   `json:"sentence"`

	same []sameLevel // the same with their factors
}

// FouledConfused names factors that were always together: what one did, any of
// the others may have done.
type FouledConfused struct {
	Factors  []string `json:"factors"`
	Sentence string   `json:"sentence"`
}

// FouledBlanks counts the jars that were never inoculated.
type FouledBlanks struct {
	Bad   int `json:"bad"`
	Total int `json:"total"`
	// MissedAt30Pct is the chance that so many blanks all stay clean where 30 %
	// of jars foul: 0.7 to the power of total.
	MissedAt30Pct float64           `json:"missed_at_30pct"`
	ByCook        []FouledCookBlank `json:"by_cook"`
	Sentence      string            `json:"sentence"`
}

// FouledCookBlank counts the blanks of one cook.
type FouledCookBlank struct {
	Cook          string  `json:"cook"`
	Bad           int     `json:"bad"`
	Total         int     `json:"total"`
	MissedAt30Pct float64 `json:"missed_at_30pct"`
}

// suspicious is the p under which a factor is a suspect.
const suspicious = 0.05

// maxFouledRows bounds a table.
const maxFouledRows = 1_000_000

// Fouled says what fouled jars have in common. For each recorded factor it
// counts bad of total by level, and gives three p: of the factor alone (Fisher
// for two levels, Freeman-Halton for more); among jars alike in the other
// factor that is most suspect (exact for two levels, else by draws); and the
// share of random deals of the fouled jars over all jars in which any factor
// would look as bad (the smallest p of each deal, Westfall and Young).
//
// They rank, and no more: jars of one liquid culture or one cook go bad
// together, so that chance is larger than any of them says.
//
// The error is a *figure.Fault that names the row.
//
// Source: Fisher (1925); Freeman and Halton, Biometrika 38 (1951) 141-149;
// Mantel and Haenszel (1959) with exact p by Mehta, Patel and Gray, J. Am. Stat.
// Assoc. 80 (1985) 969-973; Westfall and Young, Resampling-based multiple
// testing (1993), single step; levels of one factor, Holm (1979).
func Fouled(in FouledInput) (figure.Answer[FouledResult], error) {
	f, err := newFouling(in)
	if err != nil {
		return figure.Answer[FouledResult]{}, err
	}
	f.confuse()
	f.test()
	f.testWithin()
	f.suspect()
	f.say()
	return figure.Answer[FouledResult]{Result: f.result, Cautions: f.cautions, Working: f.working}, nil
}

// missed is the chance that n blanks stay clean where 30 % of jars foul.
func missed(n int) float64 { return math.Pow(0.7, float64(n)) }
