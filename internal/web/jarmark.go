package web

import (
	"strconv"

	"pinset/internal/lab"
)

// cell is one jar in a crate: its number, how it looks and one word.
type cell struct {
	Number int
	Path   string
	Code   lab.Code
	Symbol string // id of the drawing
	Word   string // the same in words
	Arm    int    // from 0; −1 without
	Blank  bool
	Done   bool // nothing more is expected of it
	Grams  string
	Ticked bool
}

// newCell draws a jar as it stands.
func newCell(j lab.Jar, s lab.Standing, arm int) cell {
	symbol, word := lookOf(j, s)
	c := cell{Number: j.Number, Path: at("j", string(j.Code)), Code: j.Code, Blank: j.Blank, Symbol: symbol, Word: word, Arm: arm}
	switch s.Fate {
	case lab.Lost, lab.Barren, lab.Spent:
		c.Done = true
	}
	if s.Picks > 0 {
		c.Grams = fix(1, float64(s.Grams)) + " g"
		if s.Fate == lab.Picked {
			c.Word = c.Grams
		}
	}
	return c
}

// Says is all of it for those who can not see the drawing. What can be seen
// stands in it as it is seen, for those who press by saying it.
func (c cell) Says() string {
	arm := ""
	if c.Arm >= 0 {
		arm = armLetter(c.Arm) + " "
	}
	return "jar " + strconv.Itoa(c.Number) + ", " + arm + c.Word + ", " + string(c.Code)
}

// lookOf returns the drawing of a jar and the word for it.
func lookOf(j lab.Jar, s lab.Standing) (symbol, word string) {
	switch {
	case s.Fate == lab.Lost:
		return "jar-lost", s.Reason
	case j.Blank:
		return "jar-blank", "blank"
	case s.Fate == lab.Picked:
		return "jar-picked", "picked"
	case s.Fate == lab.Spent:
		return "jar-picked", "spent"
	case s.Fate == lab.Barren:
		return "jar-barren", "barren"
	case s.Inoculated.IsZero():
		return "jar-bare", "not yet"
	case s.Stage == "":
		return "jar-given", "given"
	}
	return "jar-" + string(s.Stage), stageWord(s.Stage)
}

// stageWord is the stage in one word, for a crate.
func stageWord(s lab.Stage) string { return string(s) }

// legend is how to read a jar.
var legend = []cell{
	{Symbol: "jar-bare", Word: "filled, nothing in it"},
	{Symbol: "jar-given", Word: "given a culture"},
	{Symbol: "jar-growth", Word: "first growth"},
	{Symbol: "jar-cover", Word: "covered"},
	{Symbol: "jar-light", Word: "in the light"},
	{Symbol: "jar-colour", Word: "coloured"},
	{Symbol: "jar-pins", Word: "pins"},
	{Symbol: "jar-ready", Word: "ready to pick"},
	{Symbol: "jar-picked", Word: "picked or spent"},
	{Symbol: "jar-barren", Word: "barren"},
	{Symbol: "jar-lost", Word: "lost"},
	{Symbol: "jar-blank", Word: "blank"},
}
