package app

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"sync"
	"sync/atomic"
	"testing"

	"pinset/internal/calc/pool"
	"pinset/internal/calc/survive"
)

// However many ask at once, an answer is computed once, and so is what can not
// be answered. What was asked for lately is kept, and not more than the bound.
func TestAnswersAreComputedOnce(t *testing.T) {
	var a answers[int, string]
	var computed atomic.Int64
	compute := func(in int) (string, error) {
		computed.Add(1)
		if in < 0 {
			return "", errors.New("below nought")
		}
		return fmt.Sprint("of ", in), nil
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for in := -1; in < 5; in++ {
				got, err := a.get(in, compute)
				if want := fmt.Sprint("of ", in); in >= 0 && (got != want || err != nil) || in < 0 && err == nil {
					t.Errorf("of %d came %q, %v", in, got, err)
				}
			}
		})
	}
	wg.Wait()
	if computed.Load() != 6 {
		t.Errorf("computed %d times, want 6", computed.Load())
	}
	for in := range 3 * mostAnswers {
		if _, err := a.get(in, compute); err != nil {
			t.Fatal(err)
		}
		if _, err := a.get(0, compute); err != nil { // is always asked for
			t.Fatal(err)
		}
	}
	if n := len(a.young) + len(a.aged); n > 2*mostAnswers {
		t.Errorf("%d answers are kept, more than twice %d", n, mostAnswers)
	}
	if want := int64(6 + 3*mostAnswers - 5); computed.Load() != want {
		t.Errorf("computed %d times in all, want %d: what is asked for again and again was forgotten", computed.Load(), want)
	}
}

// Answers are kept under all that they are computed from: whatever changes of
// it, they are computed anew.
func TestAnswersHangOnAllThatTheyAreMadeFrom(t *testing.T) {
	for _, in := range []any{&judging{}, &survive.StagesInput{}, &coverReadings{}, &pool.PoolInput{}, &[]pool.Trial{}} {
		v := reflect.ValueOf(in).Elem()
		fill(v)
		leaves(v, v.Type().String(), func(name string, change func()) {
			before := written(t, in)
			change()
			if after := written(t, in); after == before {
				t.Errorf("%s changes, and the answer stays", name)
			}
		})
	}
}

func written(t *testing.T, in any) string {
	t.Helper()
	raw, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// fill puts one value into every list and behind every pointer.
func fill(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem())
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		fill(v.Index(0))
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Field(i).CanSet() {
				fill(v.Field(i))
			}
		}
	}
}

// leaves calls visit for every value in v with what changes it.
func leaves(v reflect.Value, name string, visit func(name string, change func())) {
	switch v.Kind() {
	case reflect.Pointer:
		leaves(v.Elem(), name, visit)
	case reflect.Slice:
		leaves(v.Index(0), name, visit)
		visit(name, func() { v.Set(reflect.Append(v, v.Index(0))) })
	case reflect.Struct:
		if v.Type().PkgPath() == "time" {
			return // no clock of a trial is judged, and days are written as text
		}
		for i := range v.NumField() {
			f := v.Type().Field(i)
			switch within := name + "." + f.Name; {
			case f.IsExported():
				leaves(v.Field(i), within, visit)
			case f.PkgPath == reflect.TypeFor[judging]().PkgPath():
				visit(within, func() {}) // is not written
			default: // nobody here can set it
			}
		}
	case reflect.String:
		visit(name, func() { v.SetString(v.String() + "x") })
	case reflect.Bool:
		visit(name, func() { v.SetBool(!v.Bool()) })
	case reflect.Int, reflect.Int64, reflect.Int8:
		visit(name, func() { v.SetInt(v.Int() + 1) })
	case reflect.Uint8, reflect.Uint64:
		visit(name, func() { v.SetUint(v.Uint() + 1) })
	case reflect.Float64:
		visit(name, func() { v.SetFloat(v.Float() + 1) })
	default:
		panic("a " + v.Kind().String() + " at " + name)
	}
}
