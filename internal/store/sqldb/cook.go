package sqldb

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

var cooks = &table[lab.Cook]{
	name: "cook",
	columns: func(c *lab.Cook) []column {
		at, exactness := when("day", &c.Day)
		return []column{
			text("id", &c.ID), number("number", &c.Number), text("name", &c.Name), ownNameKey(&c.Name),
			text("cooker", &c.Cooker), number("layers", &c.Layers), quantity("hold", &c.Hold),
			text("gauge", &c.Gauge), at, exactness, text("note", &c.Note), known("altitude", &c.Altitude),
		}
	},
	taken: func(ctx context.Context, t *tx, c lab.Cook) error {
		_, found, err := scalar[string](ctx, t, "SELECT id FROM cook WHERE number = $1", int64(c.Number))
		if err != nil {
			return err
		}
		if found {
			return lab.Conflictf("send it again: it gets the next number", "there is a %s already", c)
		}
		return lab.Conflictf("choose another name, or leave it empty", "a cook is called %s already", c.Name)
	},
}

var cookMarks = &table[lab.CookMark]{
	name: "cook_mark",
	columns: func(m *lab.CookMark) []column {
		return append(entryColumns(&m.Entry), text("cook", &m.Cook), text("event", &m.Event))
	},
}

const seeCooks = "look at the list of cooks"

func (t *tx) Cooks(ctx context.Context, limit int) ([]lab.Cook, error) {
	return query(ctx, t, cooks, "ORDER BY number DESC"+limited(limit))
}

func (t *tx) CooksBelow(ctx context.Context, number, limit int) ([]lab.Cook, error) {
	return query(ctx, t, cooks, "WHERE number < $1 ORDER BY number DESC"+limited(limit), int64(number))
}

func (t *tx) Cook(ctx context.Context, id lab.CookID) (lab.Cook, error) {
	return one(ctx, t, cooks, notFound(seeCooks, "there is no cook %s", id), "WHERE id = $1", string(id))
}

func (t *tx) CooksByID(ctx context.Context, ids ...lab.CookID) ([]lab.Cook, error) {
	return among(ctx, t, cooks, "id", ids, "number")
}

// CookByName takes a number first, as BatchByName does.
func (t *tx) CookByName(ctx context.Context, name string) (lab.Cook, error) {
	key := lab.NameKey(name)
	n, err := strconv.ParseInt(strings.TrimSpace(strings.TrimPrefix(key, "cook")), 10, 32)
	if err != nil {
		n = 0 // no cook has this number
	}
	absent := notFound(seeCooks, "there is no cook called %s", name)
	return one(ctx, t, cooks, absent, "WHERE number = $1 OR name_key = $2 ORDER BY (number = $1) DESC LIMIT 1", n, key)
}

func (t *tx) LastCookNumber(ctx context.Context) (int, error) {
	n, _, err := scalar[int64](ctx, t, "SELECT COALESCE(MAX(number), 0) FROM cook")
	return int(n), err
}

func (t *tx) CookMarks(ctx context.Context, cooks ...lab.CookID) ([]lab.CookMark, error) {
	return entriesOf(ctx, t, cookMarks, "cook", cooks)
}

// loadText counts from the index alone before it asks for numbers.
const loadText = `SELECT l.cook, l.batch, b.number, l.jars - l.blanks, l.blanks
FROM (SELECT now.cook, now.batch, COUNT(*) AS jars, SUM(CASE WHEN now.blank THEN 1 ELSE 0 END) AS blanks
  FROM jar_now now WHERE %s GROUP BY now.cook, now.batch) l
JOIN batch b ON b.id = l.batch JOIN cook c ON c.id = l.cook ORDER BY c.number, b.number`

func (t *tx) Loads(ctx context.Context, cooks ...lab.CookID) ([]store.Load, error) {
	if len(cooks) == 0 {
		return nil, t.failed
	}
	list, err := t.dialect.list(words(cooks))
	if err != nil {
		return nil, t.fail(err)
	}
	text := fmt.Sprintf(loadText, t.dialect.among("now.cook", "$1"))
	return collect(ctx, t, text, []any{list}, func(l *store.Load) []any {
		return []any{&l.Cook, &l.Batch, &l.Number, &l.Jars, &l.Blanks}
	})
}

func (t *tx) AddCook(ctx context.Context, c lab.Cook) error { return add(ctx, t, cooks, c) }

func (t *tx) AddCookMarks(ctx context.Context, m []lab.CookMark) error {
	return add(ctx, t, cookMarks, m...)
}
