package lab

import (
	"errors"
	"fmt"

	"pinset/internal/figure"
)

// Kind says what sort of trouble a Problem is.
type Kind string

// The kinds of Problem.
const (
	Invalid  Kind = "invalid"   // what was typed can not be; mend it in place
	NotFound Kind = "not_found" // nothing bears that name or code
	Conflict Kind = "conflict"  // it contradicts what is already recorded
	Refused  Kind = "refused"   // a rule of the trade says no, unless overridden with a reason
	Busy     Kind = "busy"      // the data can not be reached just now
)

// Problem is an error that a grower can read and mend.
type Problem struct {
	Kind  Kind
	Field string // the form field or key at fault, "" if none alone
	What  string // what is wrong, with values and units
	Mend  string // what to do
}

// Error returns what is wrong and how to mend it.
func (p *Problem) Error() string {
	if p.Mend == "" {
		return p.What
	}
	return p.What + "; " + p.Mend
}

// Invalidf returns an Invalid Problem at field.
func Invalidf(field, mend, format string, args ...any) *Problem {
	return &Problem{Kind: Invalid, Field: field, What: fmt.Sprintf(format, args...), Mend: mend}
}

// NotFoundf returns a NotFound Problem.
func NotFoundf(mend, format string, args ...any) *Problem {
	return &Problem{Kind: NotFound, What: fmt.Sprintf(format, args...), Mend: mend}
}

// Conflictf returns a Conflict Problem.
func Conflictf(mend, format string, args ...any) *Problem {
	return &Problem{Kind: Conflict, What: fmt.Sprintf(format, args...), Mend: mend}
}

// AsProblem returns the Problem in err's chain. A figure.Fault counts as an
// Invalid Problem at its field.
func AsProblem(err error) (*Problem, bool) {
	var p *Problem
	if errors.As(err, &p) {
		return p, true
	}
	var f *figure.Fault
	if errors.As(err, &f) {
		return &Problem{Kind: Invalid, Field: f.Field, What: f.What, Mend: f.Mend}, true
	}
	return nil, false
}

// IsKind reports whether err holds a Problem of kind k.
func IsKind(err error, k Kind) bool {
	p, ok := AsProblem(err)
	return ok && p.Kind == k
}
