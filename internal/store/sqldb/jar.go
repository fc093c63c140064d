package sqldb

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// A jar is kept in two rows: what it is, and how it is now.
var jars = &table[lab.Jar]{
	name: "jar",
	columns: func(j *lab.Jar) []column {
		return []column{
			text("id", &j.ID), text("code", &j.Code), text("batch", &j.Batch), number("number", &j.Number),
			text("mark", &j.Mark), yesNo("blank", &j.Blank), text("arm", &j.Arm), ref("recipe", &j.Recipe),
			ref("container", &j.Container), ref("culture", &j.Culture),
		}
	},
	taken: jarTaken,
}

// newJars are the rows of how jars are now, before anything happened to them.
var newJars = &table[lab.Jar]{
	name: "jar_now",
	columns: func(j *lab.Jar) []column {
		return append(places.columns(j), text("batch", &j.Batch), yesNo("blank", &j.Blank))
	},
}

var places = &table[lab.Jar]{
	name: "jar_now",
	columns: func(j *lab.Jar) []column {
		filled, exactness := when("filled", &j.Filled)
		return []column{
			text("jar", &j.ID), ref("cook", &j.Cook), number("layer", &j.Layer), text("shelf", &j.Shelf),
			text("mix_made", &j.MixMade), quantity("dry_grams", &j.DryGrams), filled, exactness,
		}
	},
}

var standings = &table[lab.Standing]{
	name: "jar_now",
	columns: func(s *lab.Standing) []column {
		inoculated, inoculatedExact := when("inoculated", &s.Inoculated)
		seen, seenExact := when("last_seen", &s.LastSeen)
		fated, fatedExact := when("fate_at", &s.FateAt)
		return []column{
			text("jar", &s.Jar), text("stage", &s.Stage), text("fate", &s.Fate), text("reason", &s.Reason),
			quantity("grams", &s.Grams), number("picks", &s.Picks), inoculated, inoculatedExact,
			ref("carries", &s.Carries), seen, seenExact, fated, fatedExact, yesNo("differs", &s.Differs),
		}
	},
}

func jarTaken(ctx context.Context, t *tx, j lab.Jar) error {
	type place struct{ batch, number int }
	where, err := collect(ctx, t,
		"SELECT b.number, j.number FROM jar j JOIN batch b ON b.id = j.batch WHERE j.code = $1", []any{string(j.Code)},
		func(p *place) []any { return []any{&p.batch, &p.number} })
	if err != nil {
		return err
	}
	if len(where) > 0 {
		name := fmt.Sprintf("%s·%d", lab.BatchName(where[0].batch), where[0].number)
		return lab.Conflictf("give the jar a fresh code", "code %s is on jar %s already", j.Code, name)
	}
	b, err := t.Batch(ctx, j.Batch)
	if err != nil {
		return err
	}
	return lab.Conflictf("give the jar the next free number", "there is a jar %s·%d already", b, j.Number)
}

func (t *tx) Jars(ctx context.Context, f store.JarFilter) ([]store.JarRow, error) {
	where, args, err := t.jarConditions(f)
	if err != nil {
		return nil, t.fail(err)
	}
	return t.jarRows(ctx, where+" ORDER BY b.number, j.number"+limited(f.Limit), args...)
}

// jarRows selects jars j of batches b as they are now.
func (t *tx) jarRows(ctx context.Context, rest string, args ...any) ([]store.JarRow, error) {
	text := "SELECT " + jars.names("j.") + ", " + places.names("now.") + ", " + standings.names("now.") +
		" FROM batch b JOIN jar_now now ON now.batch = b.id JOIN jar j ON j.id = now.jar " + rest
	return collect(ctx, t, text, args, func(r *store.JarRow) []any {
		return targets(slices.Concat(jars.columns(&r.Jar), places.columns(&r.Jar), standings.columns(&r.Standing))...)
	})
}

// jarConditions writes f as a WHERE clause with its arguments.
func (t *tx) jarConditions(f store.JarFilter) (where string, args []any, err error) {
	var c conditions
	c.list(t, "j.id", words(f.IDs))
	c.list(t, "j.code", words(f.Codes))
	c.text("now.batch", string(f.Batch))
	c.list(t, "now.batch", words(f.Batches))
	if len(f.Numbers) > 0 {
		numbers, err := t.dialect.numbers(f.Numbers)
		c.err = cmp.Or(c.err, err)
		c.add(t.dialect.among("j.number", c.next()), numbers)
	}
	c.list(t, "now.cook", words(f.Cooks))
	if len(f.Blanks) > 0 {
		c.list(t, "now.cook", words(f.Blanks))
		c.all = append(c.all, "now.blank")
	}
	c.list(t, "b.trial", words(f.Trials))
	c.text("now.carries", string(f.Carries))
	c.text("now.shelf", f.Shelf)
	if len(f.Shelves) > 0 {
		c.list(t, "now.shelf", f.Shelves)
	}
	if f.Open {
		c.all = append(c.all, openJar)
		if !f.On.IsZero() {
			c.add("(b.closing = '' OR b.closing >= "+c.next()+")", f.On.Format(time.DateOnly))
		}
	}
	if f.Differs {
		c.all = append(c.all, "now.differs")
	}
	if f.After > 0 {
		c.add("j.number > "+c.next(), int64(f.After))
	}
	return c.where(), c.args, c.err
}

// conditions collects what a WHERE clause joins by AND.
type conditions struct {
	all  []string
	args []any
	err  error
}

// next returns the place of the next argument.
func (c *conditions) next() string { return fmt.Sprintf("$%d", len(c.args)+1) }

func (c *conditions) add(condition string, arg any) {
	c.all = append(c.all, condition)
	c.args = append(c.args, arg)
}

// text demands that column is value, unless that is "".
func (c *conditions) text(column, value string) {
	if value != "" {
		c.add(column+" = "+c.next(), value)
	}
}

// list demands that column is one of words, unless there are none.
func (c *conditions) list(t *tx, column string, words []string) {
	if len(words) == 0 {
		return
	}
	list, err := t.dialect.list(words)
	c.err = cmp.Or(c.err, err)
	c.add(t.dialect.among(column, c.next()), list)
}

func (c *conditions) where() string {
	if len(c.all) == 0 {
		return ""
	}
	return "WHERE " + strings.Join(c.all, " AND ")
}

func (t *tx) JarByCode(ctx context.Context, code lab.Code) (store.JarRow, error) {
	found, err := t.jarRows(ctx, "WHERE j.code = $1", string(code))
	if err != nil {
		return store.JarRow{}, err
	}
	if len(found) == 0 {
		return store.JarRow{}, notFound("read the code off the label again, or write batch and number like B12·13", "no jar bears the code %s", code)
	}
	return found[0], nil
}

func (t *tx) CodesTaken(ctx context.Context, codes []lab.Code) ([]lab.Code, error) {
	if len(codes) == 0 {
		return nil, t.failed
	}
	list, err := t.dialect.list(words(codes))
	if err != nil {
		return nil, t.fail(err)
	}
	return collect(ctx, t, "SELECT code FROM jar WHERE "+t.dialect.among("code", "$1")+" ORDER BY code", []any{list},
		func(c *lab.Code) []any { return []any{c} })
}

// openJar is in the words of the indexes that hold open jars alone.
const openJar = "now.blank = FALSE AND now.fate IN ('', 'growing')"

func (t *tx) Shelves(ctx context.Context, on lab.Day) ([]store.ShelfCount, error) {
	// CROSS JOIN and a shelf that may be any keep SQLite to the batches that are
	// open, and to an index that holds all.
	text := "SELECT now.shelf, COUNT(*) FROM batch b CROSS JOIN jar_now now WHERE now.batch = b.id AND " + openJar +
		" AND now.shelf >= '' AND (b.closing = '' OR b.closing >= $1) GROUP BY now.shelf ORDER BY now.shelf"
	return collect(ctx, t, text, []any{on.Format(time.DateOnly)}, func(s *store.ShelfCount) []any { return []any{&s.Name, &s.Jars} })
}

func (t *tx) AddJars(ctx context.Context, j []lab.Jar) error {
	if err := add(ctx, t, jars, j...); err != nil {
		return err
	}
	if err := add(ctx, t, newJars, j...); err != nil {
		return err
	}
	return t.changed(ctx, idsOf(j, jarID))
}

func (t *tx) PlaceJars(ctx context.Context, j []lab.Jar) error {
	if err := change(ctx, t, places, func(j lab.Jar) error { return noJar(j.ID) }, j); err != nil {
		return err
	}
	return t.changed(ctx, idsOf(j, jarID))
}

func (t *tx) SetStandings(ctx context.Context, s []lab.Standing) error {
	if err := change(ctx, t, standings, func(s lab.Standing) error { return noJar(s.Jar) }, s); err != nil {
		return err
	}
	return t.changed(ctx, idsOf(s, func(s lab.Standing) lab.JarID { return s.Jar }))
}

func jarID(j lab.Jar) lab.JarID { return j.ID }

func noJar(id lab.JarID) error {
	return notFound("reload the page and enter it again", "there is no jar %s", id)
}
