package label

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"pinset/internal/lab"
)

// What the calibration page draws, mm: a cross this far from the left and
// top edge, and from it two lines of this length.
const (
	crossAt = 20
	rulerMM = 150
)

// Fit is what a ruler says of the calibration page: where the cross lies and
// how long the lines are, in millimetres. The zero Fit was not measured.
type Fit struct {
	Left, Top    float64 // of the cross
	Across, Down float64 // length of the lines
}

// IsZero reports whether nothing was measured.
func (f Fit) IsZero() bool { return f == Fit{} }

// Text writes the fit as ParseFit reads it.
func (f Fit) Text() string {
	if f.IsZero() {
		return ""
	}
	return fmt.Sprintf("%s,%s %sx%s", num(f.Left), num(f.Top), num(f.Across), num(f.Down))
}

// ParseFit reads what was measured: the distance of the cross from the left
// and the top edge, and, if they are not 150 mm, the length of the line
// across and of the line down: "21.2,19.6" or "21.2,19.6 149.5x150". "" is
// the zero Fit. Otherwise the error is an Invalid Problem.
func ParseFit(typed string) (Fit, error) {
	words := strings.Fields(strings.ReplaceAll(strings.ToLower(typed), "×", "x"))
	if len(words) == 0 {
		return Fit{}, nil
	}
	f, ok, long := Fit{Across: rulerMM, Down: rulerMM}, false, true
	f.Left, f.Top, ok = pairOf(words[0], ",")
	if len(words) == 2 {
		f.Across, f.Down, long = pairOf(words[1], "x")
	}
	if !ok || !long || len(words) > 2 {
		return Fit{}, lab.Invalidf("fit", "write the cross from the left and top edge, then the lines across and down, in mm: 21.2,19.6 149.5x150", "%q is not what a ruler says of the page", clip(typed))
	}
	return f, f.check()
}

// check refuses a page that was not printed at its size, and a shift that no
// feed of paper has.
func (f Fit) check() error {
	const most, stretch = 10, 0.03 // mm; a share
	for _, long := range []float64{f.Across, f.Down} {
		if !(math.Abs(long/rulerMM-1) <= stretch) {
			return lab.Invalidf("fit", "print the page again at 100 %, without “fit to page”, and measure it again", "the line of 150 mm came out as %s mm", num(long))
		}
	}
	if !(math.Abs(f.Left-crossAt) <= most && math.Abs(f.Top-crossAt) <= most) {
		return lab.Invalidf("fit", "measure from the edges of the paper to the middle of the cross", "the cross that is meant to be 20 mm from the edges lies at %s and %s mm", num(f.Left), num(f.Top))
	}
	return nil
}

// mends returns where to draw what should come out at x, y.
func (f Fit) mends(x, y float64) (float64, float64) {
	if f.IsZero() {
		return x, y
	}
	sx, sy := f.Across/rulerMM, f.Down/rulerMM
	return (x-f.Left)/sx + crossAt, (y-f.Top)/sy + crossAt
}

// Printer is what is known of the printer.
type Printer struct {
	Dots int // an inch; 0 is 600
	Fit  Fit
}

// ParseDots reads the dots an inch of a printer; "" is 0, not known.
// Otherwise the error is an Invalid Problem.
func ParseDots(typed string) (int, error) {
	typed = strings.TrimSuffix(strings.TrimSpace(strings.ToLower(typed)), "dpi")
	if strings.TrimSpace(typed) == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(strings.TrimSpace(typed))
	if err != nil || n < 150 || n > 2400 {
		return 0, lab.Invalidf("dots", "look into the printer's papers: 203 or 300 for most roll printers, 600 for most others", "%q dots an inch does not fit here", clip(typed))
	}
	return n, nil
}

// dot is the size of a printer's dot, mm.
func (p Printer) dot() float64 {
	const inch, usual = 25.4, 600
	switch p.Dots {
	case 0:
		return inch / usual
	case 203:
		return 1.0 / 8 // eight dots a millimetre, called 203 an inch
	}
	return inch / float64(p.Dots)
}
