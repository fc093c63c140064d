// Package stats holds the statistics that a fair comparison of jars needs:
// estimates with intervals, exact tests, proportions, power and tail
// probabilities.
//
// It is pure computation: no I/O, no clock, no chance without a seed, and no
// input is ever changed. It knows numbers and codes, not jars. Functions that
// can fail return one of the sentinel errors below, wrapped with what was
// wrong; the few that return a bare float64 return NaN outside their range and
// say so.
//
// Papers, books and their section and equation numbers are cited from memory and
// not checked against print; what holds each formula is its test, against R, SciPy,
// NIST or mpmath (testdata/README.md), a closed form, or a law.
package stats

import (
	"errors"
	"fmt"
)

var (
	// ErrFew says that there are not enough values for the figure: an arm with
	// one jar has no spread, a block with one jar tells nothing of the arms.
	ErrFew = errors.New("too few values")

	// ErrFlat says that the values do not differ at all, so that no spread can
	// be estimated. errors.Is(err, ErrFew) holds for it too.
	ErrFlat = fmt.Errorf("the values do not differ: %w", ErrFew)

	// ErrAliased says that the difference can not be told from another factor:
	// no chain of shared blocks joins the two arms.
	ErrAliased = errors.New("not separable from the blocks")

	// ErrUnbounded says that an interval has no finite ends.
	ErrUnbounded = errors.New("the interval is not finite")

	// ErrRange says that an argument lies outside what the function takes: NaN
	// or infinite values, slices of unequal length, a level outside 0..1, or a
	// problem too large for the exact answer.
	ErrRange = errors.New("out of range")
)
