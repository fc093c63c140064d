package label

import (
	"fmt"
	"math"

	"github.com/boombuler/barcode/qr"

	"pinset/internal/lab"
)

// Sizes of a square code.
const (
	quietModules = 4    // blank on each side. Source: ISO/IEC 18004
	leastMM      = 15.0 // measured: phones read less only in good light
	mostMM       = 22.0 // more helps no phone at arm's length, and takes room from the number
	leastModule  = 0.5  // mm, for the stronger correction. Own choice: wet and scratched labels
	leastDots    = 4    // for one module. Source: advice of a maker of QR readers
)

// Square is a QR symbol: what it holds as dark and light modules.
type Square struct {
	Text   string
	Side   int    // modules on a side, the quiet zone not counted
	Level  string // of correction: M (about 15 %) or Q (about 25 %)
	dark   []bool
	module float64 // mm on paper; 0 while it is not sized
}

// Dark reports whether the module in column x and row y is dark.
func (s Square) Dark(x, y int) bool { return s.dark[y*s.Side+x] }

// Module is the size of a module on paper, mm.
func (s Square) Module() float64 { return s.module }

// MM is the length of a side on paper, mm, without the quiet zone.
func (s Square) MM() float64 { return s.module * float64(s.Side) }

// quiet is the width of the quiet zone on paper, mm.
func (s Square) quiet() float64 { return s.module * quietModules }

var levels = map[string]qr.ErrorCorrectionLevel{"M": qr.M, "Q": qr.Q}

// NewSquare encodes text, which must be of the characters that a QR symbol
// keeps in its alphanumeric mode. An address that is longer than a symbol can
// hold is an Invalid Problem.
func NewSquare(text, level string) (Square, error) {
	return newSquare(text, level, qr.AlphaNumeric)
}

// NewScreenSquare encodes any text, with correction level M: more modules
// than NewSquare needs, for screens alone.
func NewScreenSquare(text string) (Square, error) { return newSquare(text, "M", qr.Unicode) }

func newSquare(text, level string, mode qr.Encoding) (Square, error) {
	code, err := qr.Encode(text, levels[level], mode)
	if err != nil {
		return Square{}, lab.Invalidf("address", "use a shorter one, in plain letters", "%q can not be put into a square code: %v", clip(text), err)
	}
	s := Square{Text: text, Level: level, Side: code.Bounds().Dx()}
	s.dark = make([]bool, 0, s.Side*s.Side)
	for y := range s.Side {
		for x := range s.Side {
			r, _, _, _ := code.At(x, y).RGBA()
			s.dark = append(s.dark, r == 0)
		}
	}
	return s, nil
}

// alphanumeric are the modules on a side that a text of n characters needs,
// for the levels that we use. Source: ISO/IEC 18004, capacities in the
// alphanumeric mode, versions 1 to 10 without 9.
var alphanumeric = map[string][]struct{ side, holds int }{
	"M": {{21, 20}, {25, 38}, {29, 61}, {33, 90}, {37, 122}, {41, 154}, {45, 178}, {49, 221}, {57, 311}},
	"Q": {{21, 16}, {25, 29}, {29, 47}, {33, 67}, {37, 87}, {41, 108}, {45, 125}, {49, 157}, {57, 221}},
}

// sideFor returns the modules on a side for a text of n characters, 0 if it
// is too long for a label.
func sideFor(level string, n int) int {
	for _, v := range alphanumeric[level] {
		if n <= v.holds {
			return v.side
		}
	}
	return 0
}

// room is what a symbol has: the height and width that can be printed on,
// and the height of the label, into whose edges the quiet zone may reach.
type room struct{ tall, wide, label float64 }

// moduleFor returns the largest module, a whole multiple of the printer's
// dot, with which a symbol of side modules has room. 0: none is large enough
// for a phone.
func (r room) moduleFor(side int, dot float64) float64 {
	n := float64(side)
	m := min(r.tall/n, r.wide/n, r.label/(n+2*quietModules), mostMM/n)
	const slack = 1e-9 // figures such as 0.5/0.125 must stay whole
	dots := math.Floor(m/dot + slack)
	module := dots * dot
	if dots < leastDots || module*n < leastMM {
		return 0
	}
	return module
}

// choose returns the level and module for texts of up to n characters: the
// stronger correction if its modules come out large enough.
func (r room) choose(n int, dot float64) (level string, module float64) {
	for _, level := range []string{"Q", "M"} {
		side := sideFor(level, n)
		if side == 0 {
			continue
		}
		if m := r.moduleFor(side, dot); m >= leastModule || level == "M" && m > 0 {
			return level, m
		}
	}
	return "", 0
}

// curve says whether a symbol is too wide for a jar of that diameter: bent
// over more than 60° its edges can not be read. Rule of thumb for codes on
// curves, from memory. ok is true when the diameter is not known.
func (s Square) curve(diameter float64) (most float64, ok bool) {
	if !(diameter > 0) {
		return 0, true
	}
	most = math.Pi * diameter / 6
	return most, s.MM() <= most
}

// String says how large the square came out.
func (s Square) String() string {
	return fmt.Sprintf("%.1f mm, modules of %.2f mm, correction %s", s.MM(), s.module, s.Level)
}
