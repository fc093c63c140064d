package report

import (
	"strconv"
	"strings"
	"time"

	"pinset/internal/app"
)

// Session returns the list of a session as PDF: what to have ready, then a
// row for each jar to tick or to write a weight into, or the steps of a cook.
// An unknown paper is an Invalid Problem.
func Session(s app.SessionSheet, o Options) ([]byte, error) {
	o, err := o.Check()
	if err != nil {
		return nil, err
	}
	d := begin(o, s.Name, strings.TrimSpace(o.Farm+" · "+s.Name), time.Time{})
	d.SetFont(fonts.Sans, "B", 16)
	d.Text(left, top+6, d.cut(s.Name, d.inner()))
	d.SetY(top + 9)
	if s.About != s.Name {
		d.SetFont(fonts.Sans, "", 9)
		d.ink(soft)
		d.Text(left, top+11.5, d.cut(s.About, d.inner()))
		d.ink(black)
		d.SetY(top + 14)
	}
	for _, c := range s.Cautions {
		d.remark(c.Title+".", c.Text)
	}
	d.heading("Before gloves go on", "", 8)
	for _, line := range s.Ready {
		d.remark("□", line)
	}
	if len(s.Cards) == 0 {
		return d.bytes()
	}
	if s.Cards[0].Large == "" {
		d.steps(s.Cards)
	} else {
		d.jarCards(s)
	}
	return d.bytes()
}

// steps writes the steps of a cook with a line for the time of each.
func (d *document) steps(cards []app.SessionCard) {
	d.heading("Step by step", "write the time of each", 20)
	for i, c := range cards {
		d.remark(strconv.Itoa(i+1)+". "+c.Do+", at ________.", c.Note)
	}
}

// jarCards writes a row for each jar.
func (d *document) jarCards(s app.SessionSheet) {
	beside, last := "tick each", column{head: "remark", wide: d.inner() * 0.3, write: true}
	if s.Weighs {
		beside, last.head = "grams, to the step of the scale", "grams"
	}
	d.heading("Jar by jar", beside, 20)
	w := d.inner() - last.wide
	var rows [][]cell
	for _, c := range s.Cards {
		rows = append(rows, []cell{{text: c.Large, bold: true}, {text: c.Code}, {text: c.Do, box: !s.Weighs}, {text: c.Note}, {}})
	}
	d.table(left, []column{
		{head: "jar", wide: w * 0.13}, {head: "code", wide: w * 0.17, mono: true}, {head: "", wide: w * 0.4}, {head: "", wide: w * 0.3}, last,
	}, rows)
}
