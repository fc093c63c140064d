package ingest

import (
	"slices"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/units"
)

// notSaid is the reason of a loss for which none is written.
const notSaid = "not said"

// readDayCell reads the day of a step in the life of a jar. "Yes" is a step
// whose day is not known, "no" is none.
func (j *jarReader) readDayCell(d *draft, c *column, cell string) {
	if c.means == isStage && c.stage == lab.Cover && strings.HasSuffix(cell, "%") {
		j.readShare(d, c, cell)
		return
	}
	at, ok := j.day(d, c, cell)
	if !ok {
		return
	}
	switch c.means {
	case isFilled:
		d.Filled = at
		d.step(filledStep, c.header, at)
	case isInoculated:
		d.Inoculated = at
		d.step(inoculatedStep, c.header, at)
	case isStage:
		d.Stages = append(d.Stages, app.SheetStage{Stage: c.stage, At: at})
		d.step(stageStep[c.stage], c.header, at)
	case isPickDay:
		d.pickDays = append(d.pickDays, pickDay{c.header, c.flush, at})
		d.dated = append(d.dated, datedStep{pickStep, c.flush, c.header, at})
	}
}

// day reads a day. Ok is false if none is meant or it is at fault.
func (j *jarReader) day(d *draft, c *column, cell string) (at lab.When, ok bool) {
	w := readDay(cell)
	if w.kind == bareNumber && c.days {
		w.kind = afterDay
	}
	if w.kind == noDay {
		switch readAnswer(cell) {
		case yes:
			return j.options.unknown(), true
		case no:
			return lab.When{}, false
		}
	}
	if w.kind == afterDay && d.unsureStart {
		return lab.When{}, false // the fault of the day inoculated is listed already
	}
	order := c.slashes
	if w.dotted {
		order = c.dots
	}
	at, f := j.options.when(w, cell, order, d.Inoculated)
	if f != nil {
		d.fault(c.header, cell, *f)
		return lab.When{}, false
	}
	return at, true
}

// readLost reads a cell that says whether the jar was lost: yes or no, the
// day, words of why, or a day and words.
func (j *jarReader) readLost(d *draft, c *column, cell string) {
	w := readDay(cell)
	switch {
	case readAnswer(cell) == yes:
		d.lost = yes
	case readAnswer(cell) == no, readFate(cell) == clean:
		if d.lost == unclear {
			d.lost = no
		}
	case w.kind != noDay:
		j.lostOn(d, c, cell)
	default:
		day, words := splitDay(cell)
		if f := readFate(words); f != lab.Lost && f != lab.Barren && f != lab.Spent && day == "" {
			d.fault(c.header, cell, fault{"“" + clip(cell) + "” does not say whether the jar was lost", "write yes, no or the day, and put other words under “reason” or “note”"})
			return
		}
		d.lost = yes
		d.reasons = append(d.reasons, words)
		if day != "" {
			j.lostOn(d, c, day)
		}
	}
}

func (j *jarReader) lostOn(d *draft, c *column, cell string) {
	at, ok := j.day(d, c, cell)
	if !ok {
		return
	}
	d.lost, d.lostDay = yes, at
	d.step(lostStep, c.header, at)
}

// splitDay splits "2026-04-12 green" and "green, 12 Apr 2026" into the day
// and the words; the day is "" if there is none.
func splitDay(cell string) (day, words string) {
	const trim = " ,;:-–()"
	fields := strings.Fields(cell)
	for n := min(4, len(fields)-1); n > 0; n-- {
		front, back := strings.Join(fields[:n], " "), strings.Join(fields[len(fields)-n:], " ")
		if f := strings.Trim(front, trim); readDay(f).sure() {
			return f, strings.Trim(strings.Join(fields[n:], " "), trim)
		}
		if b := strings.Trim(back, trim); readDay(b).sure() {
			return b, strings.Trim(strings.Join(fields[:len(fields)-n], " "), trim)
		}
	}
	return "", cell
}

// finish settles what several cells of a row say together.
func (j *jarReader) finish(d *draft) {
	d.settleNames()
	d.settleCover()
	j.checkSeen(d)
	j.settlePicks(d)
	j.settleFate(d)
	j.settleZero(d)
	j.checkBlank(d)
	j.checkOrder(d)
	note, err := lab.Text("note", strings.Join(d.notes, "; "))
	if err != nil {
		p, _ := lab.AsProblem(err)
		d.fault("", "", fault{p.What, p.Mend})
	}
	d.Note = note
}

// settleCover keeps one full cover where a share and a day both tell it.
func (d *draft) settleCover() {
	covers := 0
	for _, s := range d.Stages {
		if s.Stage == lab.Cover {
			covers++
		}
	}
	unknown := func(s app.SheetStage) bool { return s.Stage == lab.Cover && s.At.Exactness == lab.Unknown }
	if at := slices.IndexFunc(d.Stages, unknown); covers > 1 && at >= 0 {
		d.Stages = slices.Delete(d.Stages, at, at+1)
	}
}

// settleNames keeps the most telling of the names of a jar as its mark; the
// others go to the note.
func (d *draft) settleNames() {
	for _, n := range []named{d.called, d.mark, d.code} {
		switch {
		case n.text == "":
		case d.Mark == "":
			d.Mark = n.text
		case lab.NameKey(n.text) != lab.NameKey(d.Mark):
			d.note(n.header, n.text)
		}
	}
	if d.Number == 0 && d.Mark == "" && len(d.faults) == 0 {
		d.fault("", "", fault{"this row names no jar", "number the jar, or delete the row if it is none"})
	}
}

// checkSeen refuses a jar that an earlier row holds already, by its number or
// by its mark.
func (j *jarReader) checkSeen(d *draft) {
	of := ""
	if d.Batch != "" {
		of = " of batch " + d.Batch
	}
	var keys []string
	for _, n := range []struct{ key, name string }{{"#" + number(d.Number), number(d.Number)}, {lab.NameKey(d.Mark), d.Mark}} {
		if n.name == "" || n.name == "0" {
			continue
		}
		key := lab.NameKey(d.Batch) + "\x00" + n.key
		if before, ok := j.seen[key]; ok {
			name := clip("jar " + n.name + of)
			d.fault("", name, fault{
				"row " + number(before) + " holds " + name + " already",
				"keep one row for each jar, with further flushes in columns of their own such as “flush 2 g”",
			})
			return
		}
		keys = append(keys, key)
	}
	for _, key := range keys {
		j.seen[key] = d.Row
	}
}

// settlePicks gives weights their flush and day. The day of a column that
// names no flush is that of the first pick. Days that no weight takes go to
// the note.
func (j *jarReader) settlePicks(d *draft) {
	for i := range d.weights {
		if w := &d.weights[i]; w.Flush == 0 {
			w.Flush = max(1, d.flush)
		}
	}
	slices.SortStableFunc(d.weights, func(a, b weighing) int { return a.Flush - b.Flush })
	for i := range d.weights {
		w := &d.weights[i]
		w.At = j.options.unknown()
		for _, flush := range []int{w.Flush, 0} {
			at := slices.IndexFunc(d.pickDays, func(o pickDay) bool { return o.flush == flush })
			if at >= 0 && (flush > 0 || i == 0) {
				w.At = d.pickDays[at].at
				d.pickDays = slices.Delete(d.pickDays, at, at+1)
				break
			}
		}
		d.Picks = append(d.Picks, w.SheetPick)
	}
	for _, o := range d.pickDays {
		d.note(o.header, o.at.Show(j.options.zone()))
	}
	d.unweighed = len(d.Picks) == 0 && len(d.pickDays) > 0
}

// grams returns what was picked in all.
func (d *draft) grams() (sum units.Gram) {
	for _, p := range d.Picks {
		sum += p.Grams
	}
	return sum
}

// settleFate decides what became of the jar from the columns that tell it. A
// jar that was picked and not weighed is spent: as a growing one it would
// count as barren in the end.
func (j *jarReader) settleFate(d *draft) {
	why := strings.Join(d.reasons, "; ")
	said, because := readFate(d.fate.text), readFate(why)
	if said == "" && d.fate.text == "" && d.lost == unclear && because == lab.Lost {
		d.doubt("lost_by_reason", "")
		d.lost = yes
	}
	if d.lost == yes || said == lab.Lost {
		j.settleLost(d, why, said, because)
		return
	}
	if said == "" && d.fate.text != "" && d.grams() == 0 {
		d.fault(d.fate.header, d.fate.text, fault{"“" + clip(d.fate.text) + "” does not say what became of the jar", "write growing, picked, no fruit, spent or lost, and put other words under “note”"})
		return
	}
	d.noteFate(said == "" || said == lab.Picked && len(d.Picks) == 0 && !d.unweighed)
	d.unweighed = d.unweighed || said == lab.Picked && len(d.Picks) == 0
	d.Barren = said == lab.Barren || said == "" && d.lost == unclear && because == lab.Barren
	d.Spent = said == lab.Spent || d.unweighed && !d.Barren
	if d.unweighed && !d.Barren {
		d.doubt("picked_not_weighed", "")
	}
	if why != "" {
		d.note("reason", why)
	}
}

// noteFate keeps the words of the fate where they say more than the fate
// itself, or if it is wanted anyway.
func (d *draft) noteFate(anyway bool) {
	if d.fate.text != "" && (anyway || len(strings.Fields(d.fate.text)) > 2) {
		d.note(d.fate.header, d.fate.text)
	}
}

// settleLost settles a jar that is out of the count: one thrown out because
// it bore nothing is barren, one thrown out at its end is spent.
func (j *jarReader) settleLost(d *draft, why string, said, because lab.Fate) {
	if because != lab.Lost || !saysWhy(why) {
		d.Spent = because == lab.Spent || said == lab.Spent
		d.Barren = !d.Spent && (because == lab.Barren || said == lab.Barren)
	}
	if d.Spent || d.Barren {
		d.noteFate(false)
		if !d.lostDay.IsZero() {
			d.note("thrown out", d.lostDay.Show(j.options.zone()))
		}
		if why != "" {
			d.note("reason", why)
		}
		return
	}
	d.Lost, d.LostAt = true, d.lostDay
	if d.LostAt.IsZero() {
		d.LostAt = j.options.unknown()
	}
	switch {
	case saysWhy(why):
		d.Reason = why
		if d.fate.text != "" && saysWhy(d.fate.text) {
			d.note(d.fate.header, d.fate.text)
		}
	case saysWhy(d.fate.text) && said == lab.Lost:
		d.Reason = d.fate.text
	default:
		d.Reason = notSaid
		d.doubt("reason_not_said", "")
	}
}

// settleZero settles jars whose every weight is zero: nothing was picked from
// them, so they are barren unless they are lost, and a pick of 0 g would
// count them among the picked. What was written is kept in the note.
func (j *jarReader) settleZero(d *draft) {
	if d.Barren && d.grams() > 0 {
		d.fault(d.fate.header, d.fate.text, fault{"the row says that the jar bore no fruit, and that " + d.grams().String() + " were picked", "correct one of the two"})
		return
	}
	if len(d.Picks) == 0 || d.grams() > 0 {
		return
	}
	for _, w := range d.weights {
		text := w.Typed
		if w.At.Exactness != lab.Unknown {
			text += " on " + w.At.Show(j.options.zone())
		}
		d.note(w.header, text)
	}
	d.Picks = nil
	if d.Lost || d.Blank || readFate(d.fate.text) == lab.Growing {
		return
	}
	if !d.Barren {
		d.doubt("zero_is_barren", "")
	}
	d.Barren, d.Spent = true, false
}

// checkBlank refuses a blank that was inoculated or picked.
func (j *jarReader) checkBlank(d *draft) {
	if !d.Blank {
		return
	}
	if !d.Inoculated.IsZero() {
		d.fault("", "", fault{"the row says that the jar is a blank, and that it was inoculated (" + d.Inoculated.Show(j.options.zone()) + ")", "correct one of the two: a blank is never inoculated"})
	}
	if d.grams() > 0 || d.unweighed {
		d.fault("", "", fault{"the row says that the jar is a blank, and that it was picked", "correct one of the two"})
	}
	d.Barren = false
}
