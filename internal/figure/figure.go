// Package figure holds what travels with a computed figure: the cautions
// that doubt it, the working that explains it, and the fault that kept it
// from being computed.
//
// It is a leaf, so that pure computation, the words of the trade and the
// pages can all speak of the same caution.
package figure

import "fmt"

// Weight ranks how loudly a caution must be shown.
type Weight string

// The weights, from quiet to loud.
const (
	Note Weight = "note" // worth knowing
	Care Weight = "care" // the figure may mislead
	Stop Weight = "stop" // do not go on before this is settled
)

// Caution is a doubt about a result that is otherwise valid. It is printed
// beside the figure, never in a log.
type Caution struct {
	Code   string `json:"code"`   // stable, snake_case, such as "totals_only"
	Title  string `json:"title"`  // a few words
	Text   string `json:"text"`   // what is doubtful, then what to do
	Weight Weight `json:"weight"` // note, care or stop
}

// Step is one line of working: how a figure came to be.
type Step struct {
	Step    string `json:"step"`    // what is computed, in words
	Formula string `json:"formula"` // as it would be written by hand
	Value   any    `json:"value"`   // number, text or nil where it can not be said
	Unit    string `json:"unit"`
	Source  string `json:"source"` // where the formula or constant is from
}

// Answer is what every calculator returns.
type Answer[R any] struct {
	Result   R         `json:"result"`
	Cautions []Caution `json:"cautions"`
	Working  []Step    `json:"working"`
}

// Fault says why a figure could not be computed: bad input that the grower
// can mend. It is an error; anything else that a calculator returns is ours.
type Fault struct {
	Field string `json:"field"` // the key or form field at fault, "" if none alone
	What  string `json:"what"`  // what is wrong, with values and units
	Mend  string `json:"mend"`  // what to do
}

// Error returns what is wrong and how to mend it, in one sentence.
func (f *Fault) Error() string {
	if f.Mend == "" {
		return f.What
	}
	return f.What + "; " + f.Mend
}

// Faultf returns a Fault at field whose What is formatted from the arguments.
func Faultf(field, mend, format string, args ...any) *Fault {
	return &Fault{Field: field, What: fmt.Sprintf(format, args...), Mend: mend}
}
