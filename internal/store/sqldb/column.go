package sqldb

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"pinset/internal/lab"
)

// kind is the standard type of a column.
type kind string

const (
	textKind   kind = "text"
	numberKind kind = "bigint"
	realKind   kind = "double precision"
	flagKind   kind = "boolean"
)

// column joins one column of a table to one field of a value, both ways, so
// that what is written and what is read can not drift apart.
type column struct {
	name string
	kind kind
	bind func() (any, error)    // the field as string, int64, float64, bool or nil
	scan func(stored any) error // nil for a column that is only written
}

// Scan implements sql.Scanner.
func (c column) Scan(stored any) error {
	if err := c.scan(stored); err != nil {
		return fmt.Errorf("column %s: %w", c.name, err)
	}
	return nil
}

// text keeps a string.
func text[S ~string](name string, p *S) column {
	return column{
		name, textKind,
		func() (any, error) { return bindText(string(*p)) },
		func(stored any) error {
			s, err := storedText(stored)
			*p = S(s)
			return err
		},
	}
}

// ref keeps the identifier of another row, "" as NULL.
func ref[S ~string](name string, p *S) column {
	c := text(name, p)
	c.bind = func() (any, error) {
		if *p == "" {
			return nil, nil
		}
		return bindText(string(*p))
	}
	return c
}

// nameKey is written beside a name, to find it and keep it unique.
func nameKey(p *string) column {
	return column{"name_key", textKind, func() (any, error) { return bindText(lab.NameKey(*p)) }, nil}
}

// ownNameKey is a nameKey for names that may be "": those are NULL.
func ownNameKey(p *string) column {
	return column{"name_key", textKind, func() (any, error) {
		if *p == "" {
			return nil, nil
		}
		return bindText(lab.NameKey(*p))
	}, nil}
}

// number keeps an int.
func number(name string, p *int) column {
	return column{
		name, numberKind,
		func() (any, error) { return int64(*p), nil },
		func(stored any) error {
			n, ok := stored.(int64)
			*p = int(n)
			return mismatch(ok, stored, numberKind)
		},
	}
}

// yesNo keeps a bool.
func yesNo(name string, p *bool) column {
	return column{
		name, flagKind,
		func() (any, error) { return *p, nil },
		func(stored any) error {
			b, ok := stored.(bool)
			if n, isNumber := stored.(int64); isNumber { // SQLite
				b, ok = n != 0, true
			}
			*p = b
			return mismatch(ok, stored, flagKind)
		},
	}
}

// quantity keeps a finite number.
func quantity[Q ~float64](name string, p *Q) column {
	return column{
		name, realKind,
		func() (any, error) { return bindReal(name, float64(*p)) },
		func(stored any) error {
			v, ok := stored.(float64)
			*p = Q(v)
			return mismatch(ok, stored, realKind)
		},
	}
}

// known keeps a finite number that may be absent.
func known[Q ~float64](name string, p **Q) column {
	return column{
		name, realKind,
		func() (any, error) {
			if *p == nil {
				return nil, nil
			}
			return bindReal(name, float64(**p))
		},
		func(stored any) error {
			*p = nil
			if stored == nil {
				return nil
			}
			v, ok := stored.(float64)
			q := Q(v)
			*p = &q
			return mismatch(ok, stored, realKind)
		},
	}
}

// document keeps a value as JSON text.
func document[T any](name string, p *T) column {
	return column{
		name, textKind,
		func() (any, error) {
			b, err := json.Marshal(*p)
			if err != nil {
				return nil, err
			}
			return bindText(string(b))
		},
		func(stored any) error {
			s, err := storedText(stored)
			if err != nil {
				return err
			}
			var fresh T // not into *p, whose memory an earlier row still holds
			err = json.Unmarshal([]byte(s), &fresh)
			*p = fresh
			return err
		},
	}
}

// rawText keeps bytes that are text.
func rawText(name string, p *[]byte) column {
	return column{
		name, textKind,
		func() (any, error) { return bindText(string(*p)) },
		func(stored any) error {
			s, err := storedText(stored)
			*p = []byte(s)
			return err
		},
	}
}

// seed keeps all 64 bits, as decimal text: both databases only have signed numbers.
func seed(name string, p *uint64) column {
	return column{
		name, textKind,
		func() (any, error) { return strconv.FormatUint(*p, 10), nil },
		func(stored any) error {
			s, err := storedText(stored)
			if err != nil {
				return err
			}
			*p, err = strconv.ParseUint(s, 10, 64)
			return err
		},
	}
}

// timeForm has one width, so that texts sort as times do.
const timeForm = "2006-01-02T15:04:05Z"

// moment keeps a time to the second, in UTC.
func moment(name string, p *time.Time) column {
	return clock(name, p, timeForm)
}

// day keeps a calendar day.
func day(name string, p *lab.Day) column {
	return clock(name, &p.Time, time.DateOnly)
}

func clock(name string, p *time.Time, form string) column {
	return column{
		name, textKind,
		func() (any, error) { return bindTime(name, *p, form) },
		func(stored any) error {
			s, err := storedText(stored)
			if err != nil {
				return err
			}
			*p = time.Time{}
			if s != "" {
				*p, err = time.Parse(form, s)
			}
			return err
		},
	}
}

// when keeps a time and how well it is known, in two columns.
func when(name string, p *lab.When) (at, exactness column) {
	return moment(name, &p.Time), text(name+"_exact", &p.Exactness)
}

func bindTime(name string, t time.Time, form string) (any, error) {
	if t.IsZero() {
		return "", nil
	}
	t = t.UTC()
	if t.Year() < 0 || t.Year() > 9999 {
		return nil, lab.Invalidf(name, "check the year", "the year %d is out of the range 0 to 9999", t.Year())
	}
	return t.Format(form), nil
}

// bindText refuses what PostgreSQL can not keep on SQLite too.
func bindText(s string) (any, error) {
	if !utf8.ValidString(s) || strings.ContainsRune(s, 0) {
		return nil, lab.Invalidf("", "type it again without them", "the text %.40q holds characters that can not be kept", s)
	}
	return s, nil
}

func bindReal(name string, v float64) (any, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, lab.Invalidf(name, "enter it again", "%s is %g, which is not a quantity", name, v)
	}
	return v, nil
}

func storedText(stored any) (string, error) {
	switch s := stored.(type) {
	case nil:
		return "", nil
	case string:
		return s, nil
	case []byte:
		return string(s), nil
	}
	return "", mismatch(false, stored, textKind)
}

func mismatch(ok bool, stored any, want kind) error {
	if ok {
		return nil
	}
	return fmt.Errorf("%v of type %T is stored, not %s", stored, stored, want)
}
