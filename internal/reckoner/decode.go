package reckoner

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/nearest"
)

// maxInput bounds the JSON that a calculator reads.
const maxInput = 64 << 20

// Decode reads one JSON object into out. An unknown key is a Fault that
// names the nearest known one; a value of the wrong kind is a Fault at its key.
func Decode(raw []byte, out any) error {
	if len(raw) > maxInput {
		return figure.Faultf("", "give fewer rows", "the input has %d MB, %d are read", len(raw)>>20, maxInput>>20)
	}
	if len(bytes.TrimSpace(raw)) == 0 {
		return figure.Faultf("", "give one JSON object, such as {\"hold_min\": 60}", "the input is empty")
	}
	var tree any
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber()
	if err := d.Decode(&tree); err != nil {
		return notJSON(err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return figure.Faultf("", "give one JSON object", "something follows the JSON object")
	}
	if _, ok := tree.(map[string]any); !ok {
		return figure.Faultf("", "give one JSON object, such as {\"hold_min\": 60}", "the input is not a JSON object")
	}
	if err := checkKeys(tree, reflect.TypeOf(out).Elem(), ""); err != nil {
		return err
	}
	return wrongKind(json.Unmarshal(raw, out))
}

func notJSON(err error) error {
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		return figure.Faultf("", "check quotes, commas and brackets there", "the input is not JSON at byte %d: %v", syntax.Offset, err)
	}
	return figure.Faultf("", "check that it is whole", "the input is not JSON: %v", err)
}

// wrongKind turns the decoder's error on a value of the wrong kind into a Fault.
func wrongKind(err error) error {
	if err == nil {
		return nil
	}
	var fault *figure.Fault
	if errors.As(err, &fault) {
		return fault
	}
	var kind *json.UnmarshalTypeError
	if errors.As(err, &kind) {
		return figure.Faultf(kind.Field, "give "+kindWords(kind.Type), "%s can not be %s", kind.Field, "a "+kind.Value)
	}
	return figure.Faultf("", "check the values", "the input can not be read: %v", err)
}

func kindWords(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Float64, reflect.Float32, reflect.Int, reflect.Int64, reflect.Uint64:
		return "a number without quotes or unit: the unit is in the key"
	case reflect.Slice, reflect.Array:
		return "a list in square brackets"
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "text in quotes"
	}
	return "an object in curly brackets"
}

var unmarshaler = reflect.TypeFor[json.Unmarshaler]()

// checkKeys returns a Fault at the first key in v that t does not know.
// Types that read themselves are left to do so.
func checkKeys(v any, t reflect.Type, path string) error {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if reflect.PointerTo(t).Implements(unmarshaler) {
		return nil
	}
	switch x := v.(type) {
	case map[string]any:
		return checkObject(x, t, path)
	case []any:
		if t.Kind() != reflect.Slice {
			return nil
		}
		for i, e := range x {
			if err := checkKeys(e, t.Elem(), fmt.Sprintf("%s[%d]", path, i)); err != nil {
				return err
			}
		}
	}
	return nil
}

func checkObject(x map[string]any, t reflect.Type, path string) error {
	if t.Kind() == reflect.Map {
		for _, k := range sortedKeys(x) {
			if err := checkKeys(x[k], t.Elem(), join(path, k)); err != nil {
				return err
			}
		}
		return nil
	}
	if t.Kind() != reflect.Struct {
		return nil
	}
	fields := jsonFields(t)
	for _, k := range sortedKeys(x) {
		ft, ok := fields[k]
		if !ok {
			return unknownKey(join(path, k), k, fields)
		}
		if err := checkKeys(x[k], ft, join(path, k)); err != nil {
			return err
		}
	}
	return nil
}

func unknownKey(path, key string, fields map[string]reflect.Type) error {
	known := sortedKeys(fields)
	mend := "the keys are " + strings.Join(known, ", ")
	if near, ok := nearest.Word(key, known); ok {
		mend = "did you mean " + near + "?"
	}
	return figure.Faultf(path, mend, "the key %q is not known", key)
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// jsonFields returns the JSON keys of struct type t with their types,
// embedded structs included.
func jsonFields(t reflect.Type) map[string]reflect.Type {
	fields := make(map[string]reflect.Type)
	for _, f := range reflect.VisibleFields(t) {
		if !f.IsExported() || f.Anonymous {
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name != "-" && name != "" {
			fields[name] = f.Type
		}
	}
	return fields
}
