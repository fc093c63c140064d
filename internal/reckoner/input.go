package reckoner

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/nearest"
)

// Keys returns the keys at the top of the calculator's input, sorted.
func (c Calculator) Keys() []string { return sortedKeys(jsonFields(c.in)) }

// FromFlags returns the input that the flags say, as JSON. A flag is a key at
// the top; a value that holds JSON is taken as such, a list may be written
// with commas, anything else is read as the key asks.
func (c Calculator) FromFlags(flags map[string]string) ([]byte, error) {
	fields := jsonFields(c.in)
	object := make(map[string]json.RawMessage, len(flags))
	for key, typed := range flags {
		t, ok := fields[key]
		if !ok {
			return nil, unknownKey(key, key, fields)
		}
		raw, err := flagValue(typed, t)
		if err != nil {
			return nil, figure.Faultf(key, "give "+kindWords(bare(t)), "%s can not be %q", key, typed)
		}
		object[key] = raw
	}
	return json.Marshal(object)
}

func bare(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	return t
}

// flagValue returns typed as JSON that fits t.
func flagValue(typed string, t reflect.Type) (json.RawMessage, error) {
	t = bare(t)
	typed = strings.TrimSpace(typed)
	switch t.Kind() {
	case reflect.String:
		return json.Marshal(typed)
	case reflect.Bool:
		b, err := strconv.ParseBool(typed)
		if err != nil {
			return nil, err
		}
		return json.Marshal(b)
	case reflect.Slice:
		if strings.HasPrefix(typed, "[") {
			break
		}
		var list []json.RawMessage
		for part := range strings.SplitSeq(typed, ",") {
			v, err := flagValue(part, t.Elem())
			if err != nil {
				return nil, err
			}
			list = append(list, v)
		}
		return json.Marshal(list)
	}
	if !json.Valid([]byte(typed)) {
		return nil, errors.New("not JSON")
	}
	return json.RawMessage(typed), nil
}

// FromCSV returns the input that a table with the calculator's keys as header
// says, merged into base, which may be nil. The columns are either keys of
// the calculator's rows, or lists at the top.
func (c Calculator) FromCSV(table io.Reader, base []byte) ([]byte, error) {
	object := make(map[string]json.RawMessage)
	if len(base) > 0 {
		if err := json.Unmarshal(base, &object); err != nil {
			return nil, notJSON(err)
		}
	}
	r := csv.NewReader(io.LimitReader(table, maxInput))
	header, err := r.Read()
	if err != nil {
		return nil, figure.Faultf("", "write the keys into the first row", "the table has no header: %v", err)
	}
	for i := range header {
		header[i] = strings.TrimSpace(strings.TrimPrefix(header[i], "\ufeff"))
	}
	if key, row, ok := rowsField(c.in, header); ok {
		object[key], err = rowsOf(r, header, row)
	} else {
		err = listsOf(r, header, jsonFields(c.in), object)
	}
	if err != nil {
		return nil, err
	}
	return json.Marshal(object)
}

// rowsField finds the list of objects at the top of t whose keys are header.
func rowsField(t reflect.Type, header []string) (key string, row map[string]reflect.Type, ok bool) {
	best := 0
	for name, ft := range jsonFields(t) {
		if ft.Kind() != reflect.Slice || bare(ft.Elem()).Kind() != reflect.Struct {
			continue
		}
		fields := jsonFields(bare(ft.Elem()))
		hits := 0
		for _, h := range header {
			if _, known := fields[h]; known {
				hits++
			}
		}
		if hits > best {
			best, key, row, ok = hits, name, fields, true
		}
	}
	return key, row, ok
}

func rowsOf(r *csv.Reader, header []string, fields map[string]reflect.Type) (json.RawMessage, error) {
	for _, h := range header {
		if _, ok := fields[h]; !ok {
			return nil, unknownKey(h, h, fields)
		}
	}
	var rows []map[string]json.RawMessage
	for n := 2; ; n++ {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return json.Marshal(rows)
		}
		if err != nil {
			return nil, badRow(n, err)
		}
		row := make(map[string]json.RawMessage)
		for i, h := range header {
			if strings.TrimSpace(record[i]) == "" {
				continue
			}
			if row[h], err = flagValue(record[i], fields[h]); err != nil {
				return nil, figure.Faultf(h, "give "+kindWords(bare(fields[h])), "row %d: %s can not be %q", n, h, record[i])
			}
		}
		rows = append(rows, row)
	}
}

func badRow(n int, err error) error {
	return figure.Faultf("", "give every row as many fields as the header has", "row %d can not be read: %v", n, err)
}

func listsOf(r *csv.Reader, header []string, fields map[string]reflect.Type, object map[string]json.RawMessage) error {
	lists := make([][]json.RawMessage, len(header))
	for _, h := range header {
		if t, ok := fields[h]; !ok || t.Kind() != reflect.Slice {
			mend := "the header names keys of the calculator"
			if near, ok := nearest.Word(h, sortedKeys(fields)); ok {
				mend = "did you mean " + near + "?"
			}
			return figure.Faultf(h, mend, "the column %q is not a list that the calculator takes", h)
		}
	}
	for n := 2; ; n++ {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return badRow(n, err)
		}
		for i, h := range header {
			v, err := flagValue(record[i], fields[h].Elem())
			if err != nil {
				return figure.Faultf(fmt.Sprintf("%s[%d]", h, n-2), "give "+kindWords(bare(fields[h].Elem())), "row %d: %s can not be %q", n, h, record[i])
			}
			lists[i] = append(lists[i], v)
		}
	}
	for i, h := range header {
		raw, err := json.Marshal(lists[i])
		if err != nil {
			return err
		}
		object[h] = raw
	}
	return nil
}
