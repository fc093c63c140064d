package label

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// Grid is where labels lie on a sheet, in millimetres from its top left
// corner. A roll is a sheet of one label.
type Grid struct {
	Name          string  // such as "a4-3x7"; "" for one that was typed
	Wide, Tall    float64 // of the paper
	Across, Down  int     // labels
	W, H          float64 // of one label; the same for round ones
	Left, Top     float64 // of the first label
	StepX, StepY  float64 // from one label to the next
	Round, OnRoll bool
}

// The papers, mm.
const (
	a4Wide, a4Tall         = 210, 297
	letterWide, letterTall = 215.9, 279.4
)

// grids are the sheets that are offered. Sources: dimensions from an open
// collection of label templates under the MIT licence, right and bottom
// margins computed from them; the first corners of a4-3x7 and a4-5x13 are
// from memory. letter-3x10 is sold with two left margins, so both are here.
var grids = []Grid{
	{Name: "a4-3x7", Wide: a4Wide, Tall: a4Tall, Across: 3, Down: 7, W: 63.5, H: 38.1, Left: 7.25, Top: 15.15, StepX: 66, StepY: 38.1},
	{Name: "a4-3x8", Wide: a4Wide, Tall: a4Tall, Across: 3, Down: 8, W: 70, H: 37, Left: 0, Top: 0.5, StepX: 70, StepY: 37},
	{Name: "a4-3x8-36", Wide: a4Wide, Tall: a4Tall, Across: 3, Down: 8, W: 70, H: 36, Left: 0, Top: 4.5, StepX: 70, StepY: 36},
	{Name: "a4-5x13", Wide: a4Wide, Tall: a4Tall, Across: 5, Down: 13, W: 38.1, H: 21.2, Left: 4.75, Top: 10.7, StepX: 40.6, StepY: 21.2},
	{Name: "a4-4x10", Wide: a4Wide, Tall: a4Tall, Across: 4, Down: 10, W: 52.5, H: 29.7, Left: 0, Top: 0, StepX: 52.5, StepY: 29.7},
	{Name: "a4-2x5", Wide: a4Wide, Tall: a4Tall, Across: 2, Down: 5, W: 105, H: 57, Left: 0, Top: 6, StepX: 105, StepY: 57},
	{Name: "a4-round-4x6", Wide: a4Wide, Tall: a4Tall, Across: 4, Down: 6, W: 40, H: 40, Left: 16, Top: 13.5, StepX: 46, StepY: 46, Round: true},
	{Name: "letter-3x10", Wide: letterWide, Tall: letterTall, Across: 3, Down: 10, W: 66.675, H: 25.4, Left: 4.7625, Top: 12.7, StepX: 69.85, StepY: 25.4},
	{Name: "letter-3x10-left", Wide: letterWide, Tall: letterTall, Across: 3, Down: 10, W: 66.675, H: 25.4, Left: 3.97, Top: 12.7, StepX: 70.56, StepY: 25.4},
	{Name: "letter-2x5", Wide: letterWide, Tall: letterTall, Across: 2, Down: 5, W: 101.6, H: 50.8, Left: 4.128, Top: 12.7, StepX: 106.363, StepY: 50.8},
	{Name: "letter-2x7", Wide: letterWide, Tall: letterTall, Across: 2, Down: 7, W: 101.6, H: 33.867, Left: 3.969, Top: 21.167, StepX: 106.363, StepY: 33.867},
	{Name: "letter-2x3", Wide: letterWide, Tall: letterTall, Across: 2, Down: 3, W: 101.6, H: 84.667, Left: 3.969, Top: 12.7, StepX: 106.363, StepY: 84.667},
	{Name: "letter-4x20", Wide: letterWide, Tall: letterTall, Across: 4, Down: 20, W: 44.45, H: 12.7, Left: 7.144, Top: 12.7, StepX: 52.388, StepY: 12.7},
	{Name: "letter-round-4x6", Wide: letterWide, Tall: letterTall, Across: 4, Down: 6, W: 41.3, H: 41.3, Left: 10.56, Top: 13.94, StepX: 51.17, StepY: 42.05, Round: true},
	{Name: "letter-round-3x4", Wide: letterWide, Tall: letterTall, Across: 3, Down: 4, W: 63.5, H: 63.5, Left: 5.33, Top: 10.79, StepX: 69.85, StepY: 63.88, Round: true},
}

// Grids returns the sheets that are offered.
func Grids() []Grid { return append([]Grid(nil), grids...) }

// Title says the grid in words: "A4, 21 of 63.5 × 38.1 mm".
func (g Grid) Title() string {
	size := num(g.W) + " × " + num(g.H) + " mm"
	if g.Round {
		size = "round, " + num(g.W) + " mm"
	}
	switch {
	case g.OnRoll:
		return "Roll, " + size
	case g.Wide == a4Wide && g.Tall == a4Tall:
		return fmt.Sprintf("A4, %d of %s", g.Each(), size)
	case g.Wide == letterWide && g.Tall == letterTall:
		return fmt.Sprintf("Letter, %d of %s%s", g.Each(), size, g.variant())
	}
	return fmt.Sprintf("%s × %s mm, %d of %s", num(g.Wide), num(g.Tall), g.Each(), size)
}

// variant tells sheets apart that differ in their margins alone.
func (g Grid) variant() string {
	for _, o := range grids {
		if o.Name != g.Name && o.Wide == g.Wide && o.Across == g.Across && o.Down == g.Down && o.W == g.W && o.H == g.H && o.Left != g.Left {
			return ", " + num(g.Left) + " mm from the left"
		}
	}
	return ""
}

// num prints a length without needless noughts.
func num(mm float64) string { return strconv.FormatFloat(math.Round(mm*1000)/1000, 'f', -1, 64) }

// Text writes the grid as ParseGrid reads it.
func (g Grid) Text() string {
	if g.Name != "" {
		return g.Name
	}
	round := ""
	if g.Round {
		round = " round"
	}
	if g.OnRoll {
		return "roll " + num(g.W) + "x" + num(g.H) + round
	}
	paper := num(g.Wide) + "x" + num(g.Tall)
	return fmt.Sprintf("%s %dx%d %sx%s %s,%s %sx%s%s", paper, g.Across, g.Down, num(g.W), num(g.H), num(g.Left), num(g.Top), num(g.StepX), num(g.StepY), round)
}

// Each is how many labels a sheet holds.
func (g Grid) Each() int { return g.Across * g.Down }

// place returns the top left corner of label n of a sheet, from 0, row by row.
func (g Grid) place(n int) (x, y float64) {
	return g.Left + float64(n%g.Across)*g.StepX, g.Top + float64(n/g.Across)*g.StepY
}

// gridHint says how a grid is written.
const gridHint = "write paper, labels across x down, width x height, left,top of the first, and the step from one to the next, in mm: a4 3x8 70x37 0,0.5 70x37; or a roll: roll 57x32"

// ParseGrid reads the name of a sheet that is offered, or a grid as typed:
// "a4 3x8 70x37 0,0.5 70x37", "roll 57x32", either with "round" at the end.
// Lengths are millimetres. Otherwise the error is an Invalid Problem.
func ParseGrid(typed string) (Grid, error) {
	words := strings.Fields(strings.ToLower(strings.ReplaceAll(typed, "×", "x")))
	if len(words) == 1 {
		for _, g := range grids {
			if g.Name == words[0] {
				return g, nil
			}
		}
	}
	g := Grid{}
	if n := len(words); n > 1 && words[n-1] == "round" {
		g.Round, words = true, words[:n-1]
	}
	ok := false
	switch {
	case len(words) == 2 && words[0] == "roll":
		g.OnRoll, g.Across, g.Down = true, 1, 1
		g.W, g.H, ok = pairOf(words[1], "x")
		g.Wide, g.Tall, g.StepX, g.StepY = g.W, g.H, g.W, g.H
	case len(words) == 5:
		ok = g.read(words)
	}
	if !ok {
		return Grid{}, lab.Invalidf("grid", gridHint, "%q is no sheet of labels that is known", clip(typed))
	}
	return g, g.check()
}

// read fills g from the five words of a typed sheet.
func (g *Grid) read(words []string) bool {
	var ok [5]bool
	switch words[0] {
	case "a4":
		g.Wide, g.Tall, ok[0] = a4Wide, a4Tall, true
	case "letter":
		g.Wide, g.Tall, ok[0] = letterWide, letterTall, true
	default:
		g.Wide, g.Tall, ok[0] = pairOf(words[0], "x")
	}
	across, down, whole := pairOf(words[1], "x")
	ok[1] = whole && across == math.Trunc(across) && down == math.Trunc(down)
	g.Across, g.Down = int(across), int(down)
	g.W, g.H, ok[2] = pairOf(words[2], "x")
	g.Left, g.Top, ok[3] = pairOf(words[3], ",")
	g.StepX, g.StepY, ok[4] = pairOf(words[4], "x")
	return ok == [5]bool{true, true, true, true, true}
}

// pairOf reads two numbers from 0 to 1000.
func pairOf(s, between string) (a, b float64, ok bool) {
	first, second, found := strings.Cut(s, between)
	a, err1 := strconv.ParseFloat(first, 64)
	b, err2 := strconv.ParseFloat(second, 64)
	const most = 1000 // mm
	return a, b, found && err1 == nil && err2 == nil && a >= 0 && b >= 0 && a <= most && b <= most
}

// check returns an Invalid Problem unless the labels lie on the paper and
// beside each other.
func (g Grid) check() error {
	const least, slack = 8, 0.02 // mm; figures of sheets are rounded
	right := g.Left + float64(g.Across-1)*g.StepX + g.W
	low := g.Top + float64(g.Down-1)*g.StepY + g.H
	switch {
	case g.Across < 1 || g.Down < 1 || g.Each() > 1000:
		return lab.Invalidf("grid", gridHint, "a sheet can not hold %d x %d labels", g.Across, g.Down)
	case g.W < least || g.H < least:
		return lab.Invalidf("grid", "measure it again, in millimetres", "a label of %s x %s mm is too small to read", num(g.W), num(g.H))
	case right > g.Wide+slack:
		return lab.Invalidf("grid", "measure the sheet again", "the labels end %s mm from the left, the paper is %s mm wide", num(right), num(g.Wide))
	case low > g.Tall+slack:
		return lab.Invalidf("grid", "measure the sheet again", "the labels end %s mm from the top, the paper is %s mm long", num(low), num(g.Tall))
	case g.Across > 1 && g.StepX < g.W-slack, g.Down > 1 && g.StepY < g.H-slack:
		return lab.Invalidf("grid", "measure from the edge of one label to the same edge of the next", "labels of %s x %s mm overlap when they are %s x %s mm apart", num(g.W), num(g.H), num(g.StepX), num(g.StepY))
	}
	return nil
}

func clip(s string) string { return figure.Clip(s, 60) }
