package app

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

func sameFigures(a, b lab.Figures) bool { return reflect.DeepEqual(a, b) }

// entryRow is a row of a sheet of entries with the jar that it is on.
type entryRow struct {
	RecordRow
	jar store.JarRow
}

// name is how a sheet of entries names its jar: by batch and number, else by
// the code.
func (x RecordRow) name() (string, error) {
	jar, batch := x.Fields["jar"], x.Fields["batch"]
	switch {
	case jar != "" && strings.ContainsAny(jar, "·:./"):
		return jar, nil
	case jar != "" && batch != "":
		return batch + "·" + strings.TrimLeft(jar, "#"), nil
	case x.Fields["code"] != "":
		return x.Fields["code"], nil
	case jar != "":
		return jar, nil // a code
	}
	return "", lab.Invalidf("jar", "write batch and number, or the code", "this row names no jar")
}

// jarFinder finds jars by the names of a sheet, a batch at a time.
type jarFinder struct {
	batches map[string]map[int]store.JarRow
	codes   map[lab.Code]store.JarRow
}

func (f *jarFinder) find(ctx context.Context, r store.Reader, name string) (store.JarRow, error) {
	span, err := lab.ParseSpan(name)
	if err != nil {
		return store.JarRow{}, atField("jar", err)
	}
	switch {
	case span.Batch == "" && len(span.Codes) == 1:
		return f.byCode(ctx, r, span.Codes[0])
	case span.Batch == "" || len(span.Numbers) != 1:
		return store.JarRow{}, lab.Invalidf("jar", "write it like B12·13 or K73QF", "%s is not one jar", span)
	}
	key := lab.NameKey(span.Batch)
	if f.batches[key] == nil {
		b, err := r.BatchByName(ctx, span.Batch)
		if err != nil {
			return store.JarRow{}, err
		}
		rows, err := r.Jars(ctx, store.JarFilter{Batch: b.ID})
		if err != nil {
			return store.JarRow{}, err
		}
		f.batches[key] = make(map[int]store.JarRow, len(rows))
		for _, j := range rows {
			f.batches[key][j.Number] = j
		}
	}
	j, ok := f.batches[key][span.Numbers[0]]
	if !ok {
		return j, lab.NotFoundf("check batch and number", "there is no jar %s", name)
	}
	return j, nil
}

func (f *jarFinder) byCode(ctx context.Context, r store.Reader, code lab.Code) (store.JarRow, error) {
	if j, ok := f.codes[code]; ok {
		return j, nil
	}
	rows, err := findJars(ctx, r, []string{string(code)})
	if err != nil {
		return store.JarRow{}, err
	}
	f.codes[code] = rows[0]
	return rows[0], nil
}

// takeEntries takes a sheet of what was seen, or of picks, in as one deed that
// can be undone.
func (r *recording) takeEntries(ctx context.Context, w store.Writer) error {
	deed, err := r.farm.deed(r.act, "", "took %s in from %s", r.sheet.Noun, r.sheet.Source)
	if err != nil {
		return err
	}
	rows, jars, err := r.jarsOfRows(ctx, w)
	if err != nil {
		return err
	}
	there, err := entriesOf(ctx, w, jars)
	if err != nil {
		return err
	}
	farm, err := readSettings(ctx, w)
	if err != nil {
		return err
	}
	t := &entryTaker{recording: r, deed: deed, farm: farm, seen: make(map[string]bool), picks: make(map[string]bool)}
	for _, s := range lab.Current(there.seen) {
		t.seen[seenKey(s, farm.Zone)] = true
	}
	for _, p := range lab.Current(there.picks) {
		t.picks[pickKey(p, farm.Zone)] = true
	}
	for _, row := range rows {
		known, err := t.take(ctx, w, row)
		if err := r.count(row.RecordRow, known, err); err != nil {
			return err
		}
	}
	if isEmpty(t.new) {
		return nil
	}
	if _, err := w.AddDeed(ctx, deed); err != nil {
		return err
	}
	if err := addEntries(ctx, w, t.new); err != nil {
		return err
	}
	r.report.Deed, r.report.touched = deed.ID, jars
	return restand(ctx, w, jars)
}

// jarsOfRows finds the jar of each row; a row without one is refused.
func (r *recording) jarsOfRows(ctx context.Context, w store.Writer) ([]entryRow, []lab.JarID, error) {
	finder := jarFinder{make(map[string]map[int]store.JarRow), make(map[lab.Code]store.JarRow)}
	var rows []entryRow
	var ids []lab.JarID
	have := make(map[lab.JarID]bool)
	for _, row := range r.sheet.Rows {
		name, err := row.name()
		var j store.JarRow
		if err == nil {
			j, err = finder.find(ctx, w, name)
		}
		if err != nil {
			if err := r.count(row, false, err); err != nil {
				return nil, nil, err
			}
			continue
		}
		rows = append(rows, entryRow{row, j})
		if !have[j.Jar.ID] {
			have[j.Jar.ID] = true
			ids = append(ids, j.Jar.ID)
		}
	}
	return rows, ids, nil
}

// entryTaker gathers the entries of a sheet that are new.
type entryTaker struct {
	*recording
	deed        lab.Deed
	farm        Settings
	seen, picks map[string]bool // entries that are there
	new         store.Entries
}

func (t *entryTaker) take(ctx context.Context, w store.Writer, row entryRow) (known bool, err error) {
	at, err := lab.ParseWhen("at", firstOf(row.Fields["at"], "?"), t.recording.farm.now(), t.farm.Zone)
	if err != nil {
		return false, err
	}
	e := entryOf(t.deed, at)
	e.By = firstOf(row.Fields["by"], e.By)
	if t.sheet.Noun == "picks" {
		return t.pick(row, e)
	}
	return t.see(row, e)
}

func (t *entryTaker) see(row entryRow, e lab.Entry) (known bool, err error) {
	s := lab.Seen{
		Entry: e, Jar: row.jar.Jar.ID, Stage: stageCalled(row.Fields["stage"]), Sign: lab.Sign(strings.ToLower(row.Fields["sign"])),
		Fate: lab.Fate(strings.ToLower(row.Fields["fate"])), Reason: row.Fields["reason"], Note: row.Fields["note"],
	}
	if s.Covered, err = readCover(row.Fields["covered"]); err != nil {
		return false, err
	}
	if s.Count, err = readCount(row.Fields["count"]); err != nil {
		return false, err
	}
	checked, err := s.Check()
	if err != nil {
		return false, err
	}
	if known = t.seen[seenKey(checked, t.farm.Zone)]; known {
		return true, nil
	}
	if err := seenFits(row.jar, checked, e.At, t.farm.Zone); err != nil {
		return false, err
	}
	t.seen[seenKey(checked, t.farm.Zone)] = true
	t.new.Seen = append(t.new.Seen, checked)
	return false, nil
}

func (t *entryTaker) pick(row entryRow, e lab.Entry) (known bool, err error) {
	flush := 1
	if typed := row.Fields["flush"]; typed != "" {
		if flush, err = strconv.Atoi(typed); err != nil {
			return false, lab.Invalidf("flush", "write a whole number, such as 2", "%q is no flush", clipTyped(typed))
		}
	}
	p, err := readPick(row.jar, TypedPick{Grams: row.Fields["grams"]}, flush)
	if err != nil {
		return false, atField("grams", err)
	}
	p.Entry = e
	if known = t.picks[pickKey(p, t.farm.Zone)]; known {
		return true, nil
	}
	t.picks[pickKey(p, t.farm.Zone)] = true
	t.new.Picks = append(t.new.Picks, p)
	return false, nil
}

// seenKey says all that was seen, and on which day; two entries with the same
// key are one. A sheet of jars knows the day where one of entries knows the
// minute.
func seenKey(s lab.Seen, zone *time.Location) string {
	return strings.Join([]string{string(s.Jar), dayKey(s.At, zone), string(s.Stage), string(s.Sign), string(s.Fate), s.Reason, strconv.Itoa(s.Count), strconv.Itoa(s.Covered), s.Note}, "\x00")
}

// pickKey says which pick it is: the scale's step is far above a milligram.
func pickKey(p lab.Pick, zone *time.Location) string {
	return fmt.Sprint(p.Jar, "\x00", dayKey(p.At, zone), "\x00", p.Flush, "\x00", math.Round(float64(p.Grams)*1000))
}

func dayKey(w lab.When, zone *time.Location) string {
	day, ok := w.Day(zone)
	if !ok {
		return "?"
	}
	return day.Format("2006-01-02")
}

// stageCalled returns the stage that pages or records call so; other words
// are left as they are, to be refused with what may stand there.
func stageCalled(typed string) lab.Stage {
	for _, s := range lab.Stages {
		if typed != "" && (lab.NameKey(typed) == lab.NameKey(s.Label()) || lab.NameKey(typed) == lab.NameKey(string(s))) {
			return s
		}
	}
	return lab.Stage(typed)
}

// takeRecipes takes the recipes of a sheet in: rows that follow each other
// with the same name are one.
func (r *recording) takeRecipes(ctx context.Context, w store.Writer) error {
	if err := r.bounded(); err != nil {
		return err
	}
	rows := r.sheet.Rows
	for len(rows) > 0 {
		n := 1
		for n < len(rows) && lab.NameKey(cmp.Or(rows[n].Fields["recipe"], rows[0].Fields["recipe"])) == lab.NameKey(rows[0].Fields["recipe"]) {
			n++
		}
		known, err := r.takeRecipe(ctx, w, rows[:n])
		if err := r.count(rows[0], known, err); err != nil {
			return err
		}
		if r.refused[rows[0].Row] { // a recipe without some of its lines is another
			for _, x := range rows[:n] {
				r.refused[x.Row] = true
			}
		}
		rows = rows[n:]
	}
	return nil
}

func (r *recording) takeRecipe(ctx context.Context, w store.Writer, rows []RecordRow) (known bool, err error) {
	n := NewRecipe{Name: rows[0].Fields["recipe"], Note: rows[0].Fields["note"]}
	for _, row := range rows {
		mix := firstOf(row.Fields["mix"], "mix")
		if len(n.Mixes) == 0 || lab.NameKey(n.Mixes[len(n.Mixes)-1].Name) != lab.NameKey(mix) {
			n.Mixes = append(n.Mixes, lab.Mix{Name: mix, MakeUpTo: row.Fields["make_up_to"]})
			if row.Fields["fill"] != "" {
				n.Fills = append(n.Fills, lab.Fill{Mix: mix, Amount: row.Fields["fill"]})
			}
		}
		m := &n.Mixes[len(n.Mixes)-1]
		m.Lines = append(m.Lines, lab.RecipeLine{Ingredient: row.Fields["ingredient"], Amount: row.Fields["amount"]})
	}
	old, err := w.RecipeByName(ctx, n.Name)
	if there, err := isThere(err); err != nil {
		return false, err
	} else if there {
		made, err := r.farm.newVersion(n)
		if err != nil {
			return false, err
		}
		if reflect.DeepEqual(old.Mixes, made.Mixes) && reflect.DeepEqual(old.Fills, made.Fills) {
			return true, nil
		}
	}
	for _, m := range n.Mixes {
		for _, l := range m.Lines {
			if name, err := lab.Name("ingredient", l.Ingredient); err != nil {
				return false, err
			} else if _, err := ingredientFor(ctx, w, name); err != nil {
				return false, err
			}
		}
	}
	_, err = r.farm.AddRecipe(ctx, n)
	return false, err
}
