package report

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/picture"
	"pinset/internal/units"
)

// Bench returns the bench sheet of a make day as PDF. An unknown paper or
// unit is an Invalid Problem.
func Bench(s app.BenchSheet, o Options) ([]byte, error) {
	o, err := o.Check()
	if err != nil {
		return nil, err
	}
	b := bench{begin(o, "Bench sheet "+s.Batch.Title(), strings.TrimSpace(o.Farm+" · bench sheet "+s.Batch.String()), s.Batch.Made.Time), s}
	b.head()
	for _, c := range s.Stops() {
		b.caution(c.Title, c.Text, alert)
	}
	b.makings()
	b.doubts()
	b.recipes()
	b.jars()
	b.end()
	for i := range s.Cooks {
		b.cook(i)
	}
	return b.bytes()
}

// bench is a bench sheet being written.
type bench struct {
	*document
	s app.BenchSheet
}

func (b bench) head() {
	title := "Bench sheet, " + b.s.Batch.Title()
	for _, size := range []float64{16, 14, 12.5, 11} { // a long name in smaller letters, before it is cut
		b.SetFont(fonts.Sans, "B", size)
		if b.GetStringWidth(title) <= b.inner()-30 {
			break
		}
	}
	b.Text(left, top+6, b.cut(title, b.inner()-30))
	code := b.s.Batch.String()
	b.SetFont(fonts.Mono, "", 20)
	b.Text(b.wide-right-b.GetStringWidth(code), top+6.5, code)
	b.SetFont(fonts.Sans, "", 9)
	b.ink(soft)
	what := count(len(b.s.Jars), "vessel")
	if n := b.s.Blanks(); n > 0 {
		what += ", " + count(n, "blank") + " among them"
	}
	if b.s.Trial != nil {
		what = "Trial " + b.s.Trial.Name + " · " + what
	}
	b.Text(left, top+11.5, b.cut(what, b.inner()-45))
	if day, ok := b.s.Batch.Made.Day(time.UTC); ok {
		text := day.Format("2 January 2006")
		b.Text(b.wide-right-b.GetStringWidth(text), top+11.5, text)
	}
	b.ink(black)
	b.SetY(top + 14)
	b.armKey()
}

// armKey says which letter stands for which arm.
func (b bench) armKey() {
	arms := b.s.Arms()
	if len(arms) == 0 {
		return
	}
	b.SetFont(fonts.Sans, "", 8.5)
	x, y := left, b.GetY()+4
	for i, a := range arms {
		text := picture.ArmLetter(i) + "  " + a.Name
		if w := b.GetStringWidth(text) + 8; x+w > b.wide-right && x > left {
			x, y = left, y+4.4
		}
		b.Text(x, y, b.cut(text, b.inner()))
		x += b.GetStringWidth(text) + 8
	}
	b.SetY(y + 2)
}

// makings writes what to weigh out.
func (b bench) makings() {
	if len(b.s.Makings) == 0 {
		return
	}
	b.heading("Weigh out", "in this order; tare the scale with the empty bowl", 30)
	for _, m := range b.s.Makings {
		b.making(m)
	}
}

func (b bench) making(m app.SheetMaking) {
	b.room(14 + rowTall*float64(min(len(m.Lines)+2, 12)))
	y := b.GetY() + 4.6
	b.SetFont(fonts.Sans, "B", 10)
	b.Text(left, y, capital(m.Mix))
	x := left + b.GetStringWidth(capital(m.Mix)) + 2.5
	b.SetFont(fonts.Sans, "", 8)
	b.ink(soft)
	about := m.Label
	if about == "" {
		about = m.Recipe
	}
	about += ", " + count(m.Jars, m.Vessel)
	if m.Reserve > 0 {
		about += fmt.Sprintf(", %g %% more than they take", m.Reserve)
	}
	b.Text(x, y, b.cut(about, b.wide-right-x))
	b.ink(black)
	b.SetY(y + 1.5)
	b.table(left, b.weighColumns(), b.weighRows(m))
	b.after(m)
	b.SetY(b.GetY() + 2.5)
}

func (b bench) weighColumns() []column {
	w := b.inner()
	return []column{
		{head: "ingredient", wide: w * 0.27},
		{head: "in the recipe", wide: w * 0.15, right: true},
		{head: "weigh", wide: w * 0.23, right: true},
		{head: "the scale shows", wide: w * 0.16, right: true},
		{head: "weighed", wide: w * 0.19, write: true},
	}
}

func (b bench) weighRows(m app.SheetMaking) [][]cell {
	var rows [][]cell
	for _, l := range m.Lines {
		row := []cell{{text: l.Ingredient, small: lotWords(l)}, {text: l.Typed}, {text: l.Typed, bold: true}, {text: ""}}
		switch {
		case l.Pour && l.Grams > 0:
			row[2] = cell{text: "about " + b.o.mass(l.Grams, max(1, b.s.Step)), bold: true}
			row[3].text = "pour"
		case l.Grams > 0 && l.Weigh == 0:
			row[2] = cell{text: b.o.mass(l.Grams, finer(l, b.s.Step)), bold: true}
			row[3].text = "see below"
		case l.Grams > 0:
			row[2] = cell{text: b.o.mass(l.Weigh, b.s.Step), bold: true}
			row[3].text = b.o.mass(l.Shows, b.s.Step)
		}
		if b.o.Units == US && l.Grams > 0 {
			row[2].small = grams(l.Grams, finer(l, b.s.Step))
		}
		rows = append(rows, row)
	}
	return rows
}

// finer is the step to print l in: that of the scale, or a finer one for what
// it does not show.
func finer(l app.SheetLine, step units.Gram) units.Gram {
	if !l.Pour && l.Weigh == 0 {
		return min(step, 0.01)
	}
	return step
}

func lotWords(l app.SheetLine) string {
	if l.Lot == "" {
		return ""
	}
	if l.LotNote != "" {
		return "lot " + l.Lot + ", " + l.LotNote
	}
	return "lot " + l.Lot
}

// after writes what to do with a mix that is weighed.
func (b bench) after(m app.SheetMaking) {
	var do []string
	if m.MakeUpTo != "" {
		to := m.MakeUpTo + " each time"
		if m.Volume > 0 {
			to = b.o.volume(m.Volume)
		}
		do = append(do, "Make up to "+to+".")
	}
	if m.PerJar != "" {
		into := "Into each " + m.Vessel + ": " + b.o.amount(m.PerJar)
		if m.FillG > 0 {
			into += ", which weighs " + b.o.mass(m.FillG, 0.1)
		}
		do = append(do, into+".")
	}
	if m.Strength != "" {
		do = append(do, m.Strength)
	}
	if m.Leftover > 0 {
		left := "About " + b.o.volume(m.Leftover) + " are left over: "
		if m.UseBy.IsZero() {
			left += "use them today or throw them away."
		} else {
			left += "keep them cold and use them by " + m.UseBy.Format("2 January") + ", or throw them away."
		}
		do = append(do, left)
	}
	if len(do) > 0 {
		b.remark("", strings.Join(do, " "))
	}
}

func (b bench) doubts() {
	doubts := b.s.Doubts()
	if len(doubts) == 0 {
		return
	}
	b.heading("Know before you begin", "", 10)
	for _, c := range doubts {
		b.remark(c.Title+".", c.Text)
	}
}

// recipes says what one jar should come to.
func (b bench) recipes() {
	if len(b.s.Recipes) == 0 {
		return
	}
	b.heading("One "+b.s.Vessel()+" comes to", "weigh the first three", 8+rowTall*float64(len(b.s.Recipes)))
	w := b.inner()
	var rows [][]cell
	for _, r := range b.s.Recipes {
		rows = append(rows, []cell{
			{text: r.Name}, {text: b.o.mass(r.WetG, 0.1), bold: true}, {text: known(r.MoisturePct, 1, "%")}, {text: known(r.CN, 0, "")}, {},
		})
	}
	b.table(left, []column{
		{head: "recipe", wide: w * 0.37},
		{head: "filled", wide: w * 0.16, right: true},
		{head: "water", wide: w * 0.14, right: true},
		{head: "C : N", wide: w * 0.12, right: true},
		{head: "three, weighed", wide: w * 0.21, write: true},
	}, rows)
}

// jars writes what goes into each jar, in two columns where they are many.
func (b bench) jars() {
	if len(b.s.Jars) == 0 {
		return
	}
	b.heading("Fill and label", "tick what is filled, and what stands in the cooker; 2·1 is cook 2, layer 1", 6+4*rowTall)
	const few = 8
	mixes := b.s.MixNames()
	half := (b.inner() - 5) / 2
	columns := b.jarColumns(half, mixes)
	if len(b.s.Jars) <= few || !b.fits(columns, mixes) {
		b.table(left, b.jarColumns(b.inner(), mixes), b.jarRows(b.s.Jars, mixes))
		return
	}
	for rest := b.s.Jars; len(rest) > 0; {
		room := max(4, int((b.tall-bottom-b.GetY()-6)/rowTall))
		n := min((len(rest)+1)/2, room)
		y, page := b.GetY(), b.PageNo()
		b.table(left, columns, b.jarRows(rest[:n], mixes))
		end := b.GetY()
		second := rest[n:min(2*n, len(rest))]
		if len(second) > 0 && b.PageNo() == page {
			b.SetY(y)
			b.table(left+half+5, columns, b.jarRows(second, mixes))
		}
		b.SetY(max(end, b.GetY()))
		if rest = rest[n+len(second):]; len(rest) > 0 {
			b.AddPage()
		}
	}
}

// fits reports whether every fill can be read in its column.
func (b bench) fits(columns []column, mixes []string) bool {
	first := len(columns) - 1 - len(mixes)
	b.SetFont(fonts.Sans, "", 9.5)
	for _, j := range b.s.Jars {
		for i, m := range mixes {
			if b.GetStringWidth(b.o.amount(b.s.Fill(j, m))) > columns[first+i].wide-7 {
				return false
			}
		}
	}
	return true
}

func (b bench) jarColumns(wide float64, mixes []string) []column {
	columns := []column{{head: "jar", wide: 9}, {head: "code", wide: 16.5, mono: true}}
	if len(b.s.Arms()) > 0 {
		columns = append(columns, column{head: "arm", wide: 12.5})
	}
	used := 0.0
	for _, c := range columns {
		used += c.wide
	}
	const layer = 14.5
	each := (wide - used - layer) / float64(max(1, len(mixes)))
	for _, m := range mixes {
		columns = append(columns, column{head: m, wide: each, right: true})
	}
	return append(columns, column{head: "layer", wide: layer, right: true})
}

func (b bench) jarRows(jars []app.SheetJar, mixes []string) [][]cell {
	var rows [][]cell
	for _, j := range jars {
		row := []cell{{text: strconv.Itoa(j.Number), bold: true}, {text: string(j.Code)}}
		if len(b.s.Arms()) > 0 {
			row = append(row, cell{text: armWord(j)})
		}
		for _, m := range mixes {
			fill := b.s.Fill(j, m)
			row = append(row, cell{text: b.o.amount(fill), box: fill != ""})
		}
		rows = append(rows, append(row, cell{text: placeWord(j), box: true}))
	}
	return rows
}

func armWord(j app.SheetJar) string {
	switch {
	case j.Blank:
		return "blank"
	case j.ArmIndex >= 0:
		return picture.ArmLetter(j.ArmIndex)
	}
	return j.Arm
}

func placeWord(j app.SheetJar) string {
	switch {
	case j.Cook > 0 && j.Layer > 0: // of which cook
		return fmt.Sprintf("%d·%d", j.Cook, j.Layer)
	case j.Layer > 0:
		return strconv.Itoa(j.Layer)
	}
	return ""
}

// cook draws the load and the times to write down.
func (b bench) cook(i int) {
	c := b.s.Cooks[i]
	drawn := b.load(c).Draw(640)
	wide := b.inner() * 0.8
	tall := wide * drawn.Height / drawn.Width
	if most := b.tall - top - bottom - 60; tall > most {
		wide, tall = wide*most/tall, most
	}
	b.heading(capital(c.Cook.String())+", load", "from above, one circle for each layer; within a layer the place is free", tall+44)
	y := b.GetY()
	drawn.PDF(b.Fpdf, fonts, left, y, wide)
	b.ink(black)
	b.SetY(y + tall + 1)
	hold := "hold, without a break"
	if c.Cook.Hold > 0 {
		hold = "hold " + c.Cook.Hold.String() + " without a break"
	}
	at := "at target"
	if c.Cook.Gauge != "" {
		at = "at " + c.Cook.Gauge
	}
	w := b.inner() / 4
	columns := []column{{head: "before", wide: w}, {head: "time", wide: w, write: true}, {head: hold, wide: w}, {head: "time", wide: w, write: true}}
	b.table(left, columns, [][]cell{
		{{text: "water put in"}, {}, {text: at}, {}},
		{{text: "heat on"}, {}, {text: "lost, and back"}, {}},
		{{text: "steady steam"}, {}, {text: "heat off"}, {}},
		{{text: "vent closed"}, {}, {text: "zero pressure, opened"}, {}},
	})
}

func (b bench) load(c app.SheetCook) picture.Load {
	l := picture.Load{Name: c.Cook.String(), Signs: b.s.Trial != nil}
	for _, layer := range c.Layers {
		drawn := picture.LoadLayer{Number: layer.Layer}
		for _, j := range layer.Jars {
			drawn.Jars = append(drawn.Jars, picture.LoadJar{Number: j.Number, Code: string(j.Code), Arm: j.ArmIndex, Blank: j.Blank})
		}
		l.Layers = append(l.Layers, drawn)
	}
	return l
}

func (b bench) end() {
	b.room(26)
	y := b.GetY() + 5
	b.SetFont(fonts.Sans, "", 8.5)
	b.Text(left, y, "Remarks")
	b.pen(line)
	b.SetLineWidth(0.2)
	b.Rect(left, y+1.5, b.inner(), 11, "D")
	b.Text(left, y+18, "Done by ____________   Checked by ____________")
	b.SetY(y + 20)
}
