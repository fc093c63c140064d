package label

import (
	"fmt"
	"strconv"
)

// Calibration returns a page that shows where this printer puts things: a
// cross 20 mm from the left and top edge, two lines of 150 mm, and the places
// of the grid with their numbers. It is drawn as if nothing was measured yet
// unless o.Printer says what was, so that a second print shows the mend. A
// roll has its own setting in the printer; it gets its outline alone.
func Calibration(o Options) ([]byte, error) {
	o, err := o.Check()
	if err != nil {
		return nil, err
	}
	s := begin(o, o.Grid.Each())
	s.page()
	for n := range o.Grid.Each() {
		x, y := o.Grid.place(n)
		s.outline(x, y)
		s.SetTextColor(110, 110, 110)
		s.SetFont(sans, "", 8)
		s.Text(x+o.Grid.W-2-s.GetStringWidth(strconv.Itoa(n+1)), y+o.Grid.H-2, strconv.Itoa(n+1))
	}
	if !o.Grid.OnRoll {
		s.rulers()
	}
	return s.bytes()
}

// rulers draws what is to be measured, and says how.
func (s *sheet) rulers() {
	s.SetDrawColor(0, 0, 0)
	s.SetTextColor(0, 0, 0)
	s.SetLineWidth(0.15)
	const arm, tick = 5, 1.5
	s.Line(crossAt-arm, crossAt, crossAt+rulerMM, crossAt)
	s.Line(crossAt, crossAt-arm, crossAt, crossAt+rulerMM)
	for i := 10.0; i <= rulerMM; i += 10 {
		s.Line(crossAt+i, crossAt-tick, crossAt+i, crossAt+tick)
		s.Line(crossAt-tick, crossAt+i, crossAt+tick, crossAt+i)
	}
	s.SetFont(sans, "", 8.5)
	for i, text := range []string{
		"Print at 100 %, not “fit to page”, on plain paper. Hold it against a sheet of labels and the light.",
		fmt.Sprintf("Measure: the cross from the left edge (meant: %d mm) and from the top edge (%d mm),", crossAt, crossAt),
		fmt.Sprintf("the line across and the line down from the cross to their last ticks (meant: %d mm each).", rulerMM),
		"Write the four figures where you print labels. Print this page again: the cross then lies right.",
	} {
		y := crossAt + 12 + 5*float64(i)
		s.SetFillColor(255, 255, 255)
		s.Rect(crossAt+7, y-4, s.GetStringWidth(text)+2, 5.4, "F")
		s.Text(crossAt+8, y, text)
	}
}
