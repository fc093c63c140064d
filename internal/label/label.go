// Package label prints labels as PDF: sheets on which every label lies to a
// tenth of a millimetre where the paper has it, and single labels for roll
// printers. A label says its number largest, then its code, and holds a QR
// symbol with the address that the code opens.
//
// The same labels twice are the same bytes: no clock is read.
package label

import (
	"fmt"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// Side says which label of a jar is printed.
type Side string

// The sides. A lid is flat, so its code reads best; the label on the body
// stays when the lid comes off.
const (
	Body Side = "body" // number, code, day, short recipe
	Lid  Side = "lid"  // number and code, as large as they go
	Both Side = "both" // the two, one after the other
)

// Sides lists the sides in the order that pages offer them.
var Sides = []Side{Body, Lid, Both}

// Options say how labels are printed. Only Grid is needed.
type Options struct {
	Grid     Grid
	Start    int    // place of the first label on the first sheet, from 1; 0 is 1
	Side     Side   // "" is Body
	Outlines bool   // draw where to cut, for plain paper
	Address  string // of the farm, such as "http://192.168.1.20:8470"; "" if none is kept
	Printer  Printer

	plain bool // no compression, for tests
}

// Check returns o with what was left out filled in, or an Invalid Problem.
func (o Options) Check() (Options, error) {
	if o.Start == 0 {
		o.Start = 1
	}
	if o.Side == "" {
		o.Side = Body
	}
	switch {
	case o.Grid.Each() < 1:
		return o, lab.Invalidf("grid", gridHint, "no sheet of labels is chosen")
	case o.Start < 1 || o.Start > o.Grid.Each():
		return o, lab.Invalidf("start", fmt.Sprintf("count row by row from the top left, 1 to %d", o.Grid.Each()), "the sheet has no place %d", o.Start)
	case o.Side != Body && o.Side != Lid && o.Side != Both:
		return o, lab.Invalidf("side", "choose body, lid or both", "%q is no side of a jar", clip(string(o.Side)))
	}
	return o, nil
}

// Printed are labels as a PDF, and what to know about them.
type Printed struct {
	PDF      []byte
	Labels   int
	Pages    int
	Square   string // how large the QR symbols came out; "" if there are none
	Cautions []figure.Caution
}

// Print prints labels. No labels at all, options that contradict each other
// and an address that no symbol can hold are Invalid Problems.
func Print(labels []app.LabelText, o Options) (Printed, error) {
	s, out, err := lay(labels, o)
	if err != nil {
		return Printed{}, err
	}
	out.PDF, err = s.bytes()
	return out, err
}

// Count says what Print would, and leaves the PDF out.
func Count(labels []app.LabelText, o Options) (Printed, error) {
	_, out, err := lay(labels, o)
	return out, err
}

// lay lays the labels out, and says what they come to.
func lay(labels []app.LabelText, o Options) (*sheet, Printed, error) {
	o, err := o.Check()
	if err != nil {
		return nil, Printed{}, err
	}
	if len(labels) == 0 {
		return nil, Printed{}, lab.Invalidf("labels", "choose what to print labels for", "there is nothing to label")
	}
	faces := facesOf(labels, o)
	s := begin(o, len(faces))
	square, err := s.squares(faces)
	if err != nil {
		return nil, Printed{}, err
	}
	for i, f := range faces {
		s.label(o.Start-1+i, f)
	}
	out := Printed{Labels: len(faces), Pages: s.PageNo(), Cautions: s.cautions(square, thinnest(faces))}
	if square.module > 0 {
		out.Square = square.String()
	}
	return s, out, nil
}

// face is one label to print.
type face struct {
	app.LabelText
	side   Side
	square Square // not sized if it is too small for one
}

func facesOf(labels []app.LabelText, o Options) []face {
	var out []face
	for _, l := range labels {
		if o.Side != Body {
			out = append(out, face{LabelText: l, side: Lid})
		}
		if o.Side != Lid {
			out = append(out, face{LabelText: l, side: Body})
		}
	}
	return out
}

// thinnest is the smallest diameter of the jars whose bodies get a label, mm;
// 0 if none is known.
func thinnest(faces []face) float64 {
	least := 0.0
	for _, f := range faces {
		if f.side == Body && f.Diameter > 0 && (least == 0 || f.Diameter < least) {
			least = f.Diameter
		}
	}
	return least
}
