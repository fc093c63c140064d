package ingest

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/units"
)

// draft is a jar while its row is read.
type draft struct {
	app.SheetRow
	faults      []app.RefusedRow
	unsureStart bool // the day inoculated could not be read
	called      named
	mark, code  named
	flush       int // the number of the flush, where a column says it
	weights     []weighing
	pickDays    []pickDay
	unweighed   bool // picked, and no weight is written
	dated       []datedStep
	lost        answer
	lostDay     lab.When
	reasons     []string
	fate        named
	notes       []string
	doubts      []doubt // taken over if the row is
}

// doubt is a doubt about one row; column is "" if it is about the whole of it.
type doubt struct{ code, column string }

func (d *draft) doubt(code, column string) { d.doubts = append(d.doubts, doubt{code, column}) }

// named is the text of a cell with the heading of its column.
type named struct{ header, text string }

// weighing is a weight as read; flush is 0 if its column does not say.
type weighing struct {
	header string
	app.SheetPick
}

type pickDay struct {
	header string
	flush  int
	at     lab.When
}

// maxFaults bounds the faults that are listed of one row.
const maxFaults = 5

func (d *draft) fault(header, value string, f fault) {
	if len(d.faults) < maxFaults {
		d.faults = append(d.faults, app.RefusedRow{Row: d.Row, Column: header, Value: clip(value), What: f.what, Mend: f.mend})
	}
}

// refuse records err, which a word of the trade gave, at a cell.
func (d *draft) refuse(c *column, cell string, err error) {
	f := fault{err.Error(), ""}
	if p, ok := lab.AsProblem(err); ok {
		f = fault{p.What, p.Mend}
	}
	d.fault(c.header, cell, f)
}

func (d *draft) note(header, text string) { d.notes = append(d.notes, header+": "+text) }

// readCell reads one cell that is not blank.
func (j *jarReader) readCell(d *draft, c *column, cell string) {
	cell = strings.TrimPrefix(cell, "'") // how spreadsheets mark text
	if c.means == isNote {
		if cell != "-" {
			d.notes = append(d.notes, cell)
		}
		return
	}
	if isUnknown(cell) {
		return
	}
	if failedFormula(cell) && c.means != forNote {
		d.fault(c.header, cell, fault{"the cell holds a formula that failed", "mend the formula in the spreadsheet, or write the value itself"})
		return
	}
	switch c.means {
	case forNote, isAnyDay:
		d.note(c.header, cell)
	case isJar:
		j.readJar(d, c, cell)
	case isLayer:
		j.readLayer(d, c, cell)
	case isFilled, isInoculated, isStage, isPickDay:
		j.readDayCell(d, c, cell)
	case isShare:
		j.readShare(d, c, cell)
	case isAmount:
		j.readAmount(d, c, cell)
	case isWeight, isDry:
		j.readWeight(d, c, cell)
	case isFlush:
		j.readFlush(d, c, cell)
	case isLost:
		j.readLost(d, c, cell)
	case isReason:
		d.reasons = append(d.reasons, cell)
	case isFate:
		d.fate = named{c.header, cell}
	case isBlank:
		readBlank(d, c, cell)
	default:
		j.readName(d, c, cell)
	}
}

// failedFormula reports whether a spreadsheet wrote an error such as #REF!.
func failedFormula(cell string) bool {
	return len(cell) > 3 && cell[0] == '#' && strings.ContainsRune("!?", rune(cell[len(cell)-1])) && strings.ToUpper(cell) == cell
}

// readName reads the name of something the jar belongs to.
func (j *jarReader) readName(d *draft, c *column, cell string) {
	if c.means == isContainer && c.unit != "" && isBare(cell) {
		cell += " " + c.unit
	}
	name, err := lab.Name(c.header, cell)
	if err != nil {
		d.refuse(c, cell, err)
		return
	}
	switch c.means {
	case isMark:
		d.mark = named{c.header, name}
	case isCode:
		d.code = named{c.header, name}
	case isBatch:
		d.Batch = name
	case isArm:
		if w := strings.ToLower(name); w == "blank" || w == "blanks" || w == "uninoculated" {
			d.Blank = true
			d.doubt("blank_by_arm", "")
			return
		}
		d.Arm = name
	case isRecipe:
		d.Recipe = name
	case isCulture:
		d.Culture = name
	case isCook:
		d.Cook = name
	case isShelf:
		d.Shelf = name
	case isContainer:
		d.Container = name
	case isMixMade:
		d.MixMade = name
	}
}

// readJar reads the number or name of a jar.
func (j *jarReader) readJar(d *draft, c *column, cell string) {
	if n, bare := jarNumber(cell); n > 0 {
		d.Number = n
		if !bare {
			d.called = named{c.header, cell}
		}
		return
	} else if n, ok := digits(cell, 6); ok && n == 0 {
		d.fault(c.header, cell, fault{"the jar has the number 0", "number jars from 1"})
		return
	}
	if a, b, ok := pairOf(cell); ok && c.ranges && a < b {
		d.fault(c.header, cell, fault{"“" + clip(cell) + "” names several jars in one row", "give each jar a row of its own: what they weigh together says nothing of how they differ"})
		return
	}
	if batch, n, ok := batchAndNumber(cell); ok {
		d.Number, d.called = n, named{c.header, cell}
		d.ofBatch(c, cell, batch)
		return
	}
	name, err := lab.Name("jar", cell)
	if err != nil {
		d.refuse(c, cell, err)
		return
	}
	d.called = named{c.header, name}
}

// batchAndNumber reads "B12·13", "B12-13" and "B12/13".
func batchAndNumber(cell string) (batch string, n int, ok bool) {
	for _, sep := range []string{"·", "-", "/", ":"} {
		left, right, cut := strings.Cut(cell, sep)
		if !cut {
			continue
		}
		b, okBatch := lab.BatchNumber(left)
		n, okNumber := digits(strings.TrimSpace(right), 6)
		if okBatch && okNumber && n > 0 {
			return lab.BatchName(b), n, true
		}
	}
	return "", 0, false
}

// ofBatch sets the batch that the name of the jar tells.
func (d *draft) ofBatch(c *column, cell, batch string) {
	if d.Batch != "" && lab.NameKey(d.Batch) != lab.NameKey(batch) {
		d.fault(c.header, cell, fault{"the jar is called “" + clip(cell) + "”, but its batch is “" + clip(d.Batch) + "”", "correct one of the two"})
		return
	}
	d.Batch = batch
}

func (j *jarReader) readLayer(d *draft, c *column, cell string) {
	n, word := readLayer(cell)
	switch {
	case word == bottomLayer:
		n = 1
	case word == middleLayer && c.top == 3:
		n = 2
	case word == topLayer:
		n = c.top
	}
	if n == 0 {
		d.fault(c.header, cell, fault{"“" + clip(cell) + "” is no layer of the cooker", "number the layers from the bottom, which is 1, or write bottom, middle and top"})
		return
	}
	if word != "" {
		d.doubt("layer_words", c.header)
	}
	d.Layer = n
}

func (j *jarReader) readFlush(d *draft, c *column, cell string) {
	n, ok := digits(cell, 2)
	if _, err := (lab.Pick{Flush: n}).Check(); !ok || err != nil {
		d.fault(c.header, cell, fault{"“" + clip(cell) + "” is not the number of a flush", "count flushes from 1"})
		return
	}
	d.flush = n
}

// readShare reads how much is covered: from 100 % on the jar is in full cover.
func (j *jarReader) readShare(d *draft, c *column, cell string) {
	q, err := units.ParseIn(cell, "%")
	if err != nil || q.Value < 1 {
		d.note(c.header, cell)
		return
	}
	d.Stages = append(d.Stages, app.SheetStage{Stage: lab.Cover, At: j.options.unknown()})
}

// readAmount reads how much culture the jar got, which is kept as typed.
func (j *jarReader) readAmount(d *draft, c *column, cell string) {
	if strings.HasPrefix(cell, "-") || strings.HasPrefix(cell, "−") {
		d.fault(c.header, cell, fault{"“" + clip(cell) + "” is below 0", "write an amount such as 2 mL"})
		return
	}
	if isBare(cell) {
		if c.unit != "" && !c.units {
			cell += " " + c.unit
		} else {
			d.doubt("amount_no_unit", c.header)
		}
	}
	name, err := lab.Name("amount", cell)
	if err != nil {
		d.refuse(c, cell, err)
		return
	}
	d.Amount = name
}

// isBare reports whether a cell is a number without a unit.
func isBare(cell string) bool {
	return !strings.ContainsFunc(cell, func(r rune) bool { return unicode.IsLetter(r) || r == '%' || r == '#' || r == '"' })
}

// readWeight reads a fresh weight or the dry substrate. Words in the place of
// a fresh weight may tell what became of the jar.
func (j *jarReader) readWeight(d *draft, c *column, cell string) {
	if first, _ := utf8.DecodeRuneInString(cell); c.means == isWeight && unicode.IsLetter(first) {
		if f := readFate(cell); f == lab.Lost || f == lab.Barren {
			d.said(f, c, cell)
			return
		}
	}
	text, f := j.decimal(cell)
	if f == nil && isBare(cell) {
		switch {
		case c.units:
			f = &fault{"“" + clip(cell) + "” has no unit, and “" + c.header + "” names more than one", "write the unit in the cell, such as 12.4 g"}
		case c.unit == "":
			d.doubt("no_unit", c.header)
		}
	}
	if f != nil {
		d.fault(c.header, cell, *f)
		return
	}
	unit := c.unit
	if unit == "" {
		unit = "g"
	}
	q, err := units.ParseIn(text, unit)
	if err != nil {
		d.refuse(c, cell, err)
		return
	}
	if isBare(cell) {
		cell += " " + unit
	}
	j.keepWeight(d, c, units.Gram(q.Value), cell)
}

// said records what words in the place of a weight say.
func (d *draft) said(f lab.Fate, c *column, cell string) {
	if f == lab.Lost && d.lost == unclear {
		d.lost = yes
		d.reasons = append(d.reasons, cell)
		return
	}
	if d.fate.text == "" {
		d.fate = named{c.header, cell}
		return
	}
	d.note(c.header, cell)
}

func (j *jarReader) keepWeight(d *draft, c *column, g units.Gram, typed string) {
	if c.means == isDry {
		if !(g > 0) {
			d.fault(c.header, typed, fault{"a jar can not hold " + g.String() + " of dry substrate", "write what was weighed in, or leave the cell blank"})
			return
		}
		d.DryGrams = g
		return
	}
	p, err := lab.Pick{Flush: max(1, c.flush), Grams: g}.Check()
	if err != nil {
		d.refuse(c, typed, err)
		return
	}
	d.weights = append(d.weights, weighing{c.header, app.SheetPick{Flush: c.flush, Grams: p.Grams, Typed: typed}})
}

// decimal returns a number with a decimal point, where the sheet shows that
// its numbers have a decimal comma. A point before three digits is then
// refused: it may part thousands.
func (j *jarReader) decimal(cell string) (string, *fault) {
	if !j.commas {
		return cell, nil
	}
	comma, point := strings.IndexByte(cell, ','), strings.LastIndexByte(cell, '.')
	switch {
	case comma > 0 && strings.Count(cell, ",") == 1 && point < comma:
		return strings.Replace(strings.ReplaceAll(cell, ".", ""), ",", ".", 1), nil
	case comma < 0 && point > 0 && leadingFigures(cell[point+1:]) == 3:
		return "", &fault{"“" + clip(cell) + "” has a point where other numbers of this sheet have a comma: it may be a decimal sign or part thousands", "write it without the point, or with a comma"}
	}
	return cell, nil
}

func leadingFigures(s string) int {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	return n
}

// readBlank reads whether the jar is a blank.
func readBlank(d *draft, c *column, cell string) {
	a := readAnswer(cell)
	if slices.Contains([]string{"blank", "b", "uninoculated", "control", "not inoculated"}, strings.ToLower(cell)) {
		a = yes
	}
	if a == unclear {
		d.fault(c.header, cell, fault{"“" + clip(cell) + "” does not say whether the jar is a blank", "write yes or no"})
		return
	}
	d.Blank = d.Blank || a == yes
}
