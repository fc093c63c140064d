package app

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"pinset/internal/datapackage"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// unpacked is what a package says, as the records of a farm would say it.
type unpacked struct {
	ev      evidence
	entries jarEntries
	plan    packedPlan
	answer  packedAnswer
}

const askAgain = "ask for the package again, as it was written"

// unpack reads the files of a package. What can not be read is an Invalid
// Problem.
func unpack(p *Package) (unpacked, error) {
	u := unpacked{ev: evidence{
		zone: time.UTC, known: newReckoned(), cooks: make(map[lab.CookID]lab.Cook), batches: make(map[lab.BatchID]lab.Batch),
		names: Names{Recipes: make(map[lab.RecipeVersionID]string), Containers: make(map[lab.ContainerID]string), Cultures: make(map[lab.CultureID]string)},
	}}
	if err := p.JSON(planFile, &u.plan); err != nil {
		return u, err
	}
	if err := p.JSON(answerFile, &u.answer); err != nil {
		return u, err
	}
	u.ev.cautions = u.answer.Records
	if err := u.readPlan(); err != nil {
		return u, err
	}
	r := &cellReader{jars: make(map[string]int)}
	for _, step := range []struct {
		table  string
		fields []datapackage.Field
		take   func(*cellReader)
	}{
		{cooksTable, cookFields, u.takeCook},
		{jarsTable, jarFields, u.takeJar},
		{layoutTable, layoutFields, u.takeLayout},
		{seenTable, seenFields, u.takeSeen},
		{picksTable, pickFields, u.takePick},
	} {
		rows, err := p.Table(step.table, step.fields)
		if err != nil {
			return u, err
		}
		for i, cells := range rows {
			r.at, r.cells = fmt.Sprintf("%s.csv, row %d", step.table, i+2), cells
			if step.take(r); r.err != nil {
				return u, r.err
			}
		}
	}
	u.ev.past = pastOf(u.entries)
	return u, nil
}

// readPlan restores the trial and the draw that it is judged by.
func (u *unpacked) readPlan() error {
	p := u.plan
	closing, err := lab.ParseDay("closing", p.Closing)
	if err != nil {
		return err
	}
	t := lab.Trial{
		Name: p.Name, Question: p.Question, Differ: p.Differ, Control: p.Control, Matters: p.Matters, Primary: p.Primary,
		Closing: closing, Planned: p.Planned, Details: p.Details,
	}
	for _, a := range p.Arms {
		t.Arms = append(t.Arms, lab.Arm{
			Name: a.Name, Recipe: lab.RecipeVersionID(a.Recipe), Culture: lab.CultureID(a.Culture), Container: lab.ContainerID(a.Container), Treatment: a.Treatment, Levels: a.Levels,
		})
		u.ev.names.Recipes[lab.RecipeVersionID(a.Recipe)] = a.Recipe
	}
	if _, err := t.Check(); err != nil {
		return err
	}
	u.ev.trial, u.ev.mask = t, mask{trial: t}
	if p.Blind {
		u.ev.mask.letters = make(map[string]string)
		for i, a := range t.Arms {
			u.ev.mask.letters[lab.NameKey(a.Name)], u.ev.mask.order = a.Name, append(u.ev.mask.order, i)
		}
	}
	for _, d := range p.Draws {
		if d.Stage == lab.AtLight {
			continue
		}
		u.ev.allotment = &lab.Allotment{Procedure: d.Procedure, Version: d.Version, Seed: d.Seed, Bound: d.Bound, Stage: d.Stage, Made: d.Made, Design: d.Design}
		if d.Succeeds {
			u.ev.allotment.Succeeds = "before"
		}
	}
	return nil
}

// cellReader reads the cells of one row and keeps the first that can not be.
type cellReader struct {
	at    string // "jars.csv, row 3"
	cells map[string]string
	jars  map[string]int // by name, indices of evidence.jars
	err   error
}

func (r *cellReader) bad(name, want string) {
	if r.err == nil {
		r.err = lab.Invalidf("package", askAgain, "%s: %s is %.40q, not %s", r.at, name, r.cells[name], want)
	}
}

func (r *cellReader) number(name string) float64 {
	x, err := strconv.ParseFloat(r.cells[name], 64)
	if err != nil || !(x >= 0 && x < 1e9) {
		r.bad(name, "a number that can be")
		return 0
	}
	return x
}

func (r *cellReader) count(name string) int {
	n, err := strconv.Atoi(r.cells[name])
	if err != nil || n < 0 || n > 1e6 {
		r.bad(name, "a count that can be")
		return 0
	}
	return n
}

func (r *cellReader) yes(name string) bool {
	switch r.cells[name] {
	case "true":
		return true
	case "false":
	default:
		r.bad(name, "true or false")
	}
	return false
}

// day reads a day; blank is not known.
func (r *cellReader) day(name string) lab.When {
	if r.cells[name] == "" {
		return lab.Sometime(time.Time{})
	}
	t, err := time.Parse(time.DateOnly, r.cells[name])
	if err != nil {
		r.bad(name, "a day like 2026-03-04")
		return lab.When{}
	}
	return lab.OnDay(t)
}

// jar returns the place of the jar that a row is of.
func (r *cellReader) jar() (int, bool) {
	i, ok := r.jars[r.cells["jar"]]
	if !ok {
		r.bad("jar", "one of jars.csv")
	}
	return i, ok
}

// ordinal reads the number at the end of "cook 7" or "B12".
func (r *cellReader) ordinal(name, before string) int {
	n, err := strconv.Atoi(strings.TrimPrefix(r.cells[name], before))
	if err != nil || !strings.HasPrefix(r.cells[name], before) || n < 0 {
		r.bad(name, "like "+before+"7")
	}
	return n
}

func (u *unpacked) takeCook(r *cellReader) {
	u.ev.cooks[lab.CookID(r.cells["cook"])] = lab.Cook{Number: r.ordinal("cook", "cook "), Day: r.day("cooked_on")}
}

func (u *unpacked) takeJar(r *cellReader) {
	name := r.cells["jar"]
	batch := lab.BatchID(r.cells["batch"])
	j := store.JarRow{
		Jar: lab.Jar{
			ID: lab.JarID(name), Batch: batch, Number: r.count("number"), Blank: r.yes("blank"), Arm: r.cells["arm"], Recipe: lab.RecipeVersionID(r.cells["recipe"]),
			Container: lab.ContainerID(r.cells["container"]), MixMade: r.cells["mix_made"], DryGrams: units.Gram(r.number("dry_g")),
		},
		Standing: lab.Standing{Jar: lab.JarID(name), Fate: lab.Fate(r.cells["fate"]), Reason: r.cells["reason"], Carries: lab.CultureID(r.cells["culture"])},
	}
	u.ev.batches[batch] = lab.Batch{Number: r.ordinal("batch", "B")}
	if r.yes("inoculated") {
		j.Inoculated = r.day("inoculated_on")
	}
	if j.Fate != "" {
		j.FateAt = r.day("fate_on")
	}
	if want := fmt.Sprintf("%s·%d", u.ev.batches[batch], j.Number); name != want {
		r.bad("jar", want)
	}
	if _, twice := r.jars[name]; twice {
		r.bad("jar", "one row only")
	}
	r.jars[name] = len(u.ev.jars)
	u.ev.jars = append(u.ev.jars, j)
	u.entries.inoculations = append(u.entries.inoculations, lab.Inoculation{
		Entry: lab.Entry{ID: entryID(jarsTable, len(u.ev.jars)), By: r.cells["inoculated_by"]}, Jar: j.Jar.ID,
	})
	u.ev.names.Recipes[j.Recipe], u.ev.names.Containers[j.Container], u.ev.names.Cultures[j.Carries] = r.cells["recipe"], r.cells["container"], r.cells["culture"]
}

func (u *unpacked) takeLayout(r *cellReader) {
	i, ok := r.jar()
	if !ok {
		return
	}
	j := &u.ev.jars[i]
	j.Cook, j.Layer, j.Shelf = lab.CookID(r.cells["cook"]), r.count("layer"), r.cells["shelf"]
	if _, known := u.ev.cooks[j.Cook]; j.Cook != "" && !known {
		r.bad("cook", "one of cooks.csv")
	}
}

// entryID gives each entry a name of its own, so that none takes another's place.
func entryID(table string, n int) lab.EntryID { return lab.EntryID(table + strconv.Itoa(n)) }

func (u *unpacked) takeSeen(r *cellReader) {
	i, ok := r.jar()
	if !ok {
		return
	}
	s, err := lab.Seen{
		Entry: lab.Entry{ID: entryID(seenTable, len(u.entries.seen)), At: r.day("seen_on")}, Jar: u.ev.jars[i].Jar.ID, Stage: lab.Stage(r.cells["stage"]),
		Covered: r.count("cover_pct"), Sign: lab.Sign(r.cells["sign"]), Count: r.count("count"), Fate: lab.Fate(r.cells["fate"]), Reason: r.cells["reason"],
	}.Check()
	if p, bad := lab.AsProblem(err); bad {
		r.err = lab.Invalidf("package", askAgain, "%s: %s", r.at, p.What)
	}
	u.entries.seen = append(u.entries.seen, s)
}

func (u *unpacked) takePick(r *cellReader) {
	i, ok := r.jar()
	if !ok {
		return
	}
	j := &u.ev.jars[i]
	p := lab.Pick{
		Entry: lab.Entry{ID: entryID(picksTable, len(u.entries.picks)), At: r.day("picked_on")}, Jar: j.Jar.ID, Flush: r.count("flush"), Grams: units.Gram(r.number("grams")),
	}
	j.Picks++
	j.Grams += p.Grams
	u.entries.picks = append(u.entries.picks, p)
}
