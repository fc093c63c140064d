package survive

import (
	"errors"
	"fmt"
	"math"
)

// Span is between which days a stage came: later than After, no later than By.
// By is +Inf where it had not come; the two are equal where the day is known.
type Span struct{ After, By float64 }

// Errors of this package.
var (
	// ErrRange says that a span ends before it begins, or is no number.
	ErrRange = errors.New("span out of range")
	// ErrFew says that too little was seen to estimate anything.
	ErrFew = errors.New("too little was seen")
	// ErrWide says that the visits leave the spread of days open: it can be
	// made as small as one likes.
	ErrWide = errors.New("visits too far apart")
)

func checkSpans(spans []Span) error {
	for i, s := range spans {
		if !(s.After >= 0 && s.By >= s.After && s.By > 0) || math.IsInf(s.After, 0) {
			return fmt.Errorf("survive: span %d from %g to %g: %w", i, s.After, s.By, ErrRange)
		}
	}
	return nil
}

func (s Span) seen() bool { return !math.IsInf(s.By, 1) }
