package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"

	"pinset/internal/photo/phototest"
)

// scriptCommands are the commands that scripts know besides testscript's own.
// A PATH is like result.arms.0.name; those that look at JSON look at the
// standard output of the last command.
//
//	json PATH WANT         the value there is WANT
//	near PATH WANT WITHIN  the number there is WANT, at most WITHIN off
//	keep NAME PATH         put the value there into the environment
//	snake                  it is one JSON value, its keys in snake_case
//	same FILE FILE PATH    both files hold the same there
//	lines N                the output has at most N columns in any line
//	sentence               standard error is one line of pinset
//	serve ARGS...          start pinset serve or demo and wait for its address
//	get PATH [WANT]        ask it for a page, which holds WANT
//	interrupt              interrupt the server, which must end with exit code 0
//	logged WANT            after that: what it wrote on standard error holds WANT
//	shoot FILE N [TAKEN]   write a photograph, another one for each N, to FILE
var scriptCommands = map[string]func(*testscript.TestScript, bool, []string){
	"json": cmdJSON, "near": cmdNear, "keep": cmdKeep, "snake": cmdSnake, "same": cmdSame, "lines": cmdLines, "sentence": cmdSentence,
	"serve": cmdServe, "get": cmdGet, "interrupt": cmdInterrupt, "logged": cmdLogged, "shoot": cmdShoot,
}

// theJSON returns the one JSON value in text.
func theJSON(text string) (any, error) {
	d := json.NewDecoder(strings.NewReader(text))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		return nil, fmt.Errorf("no JSON: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("something follows the JSON value")
	}
	return v, nil
}

// at returns what is at path in v.
func at(v any, path string) (any, error) {
	if path == "." {
		return v, nil
	}
	for part := range strings.SplitSeq(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			inner, ok := x[part]
			if !ok {
				return nil, fmt.Errorf("%s: there is no %s", path, part)
			}
			v = inner
		case []any:
			i, err := strconv.Atoi(part)
			if err != nil || i >= len(x) {
				return nil, fmt.Errorf("%s: the list has %d items, no %s", path, len(x), part)
			}
			v = x[i]
		default:
			return nil, fmt.Errorf("%s: nothing is below %v", path, v)
		}
	}
	return v, nil
}

// said returns v as a script writes it: texts as they are, all else as JSON.
func said(v any) string {
	if s, ok := v.(string); ok {
		return s
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return err.Error()
	}
	return strings.TrimSpace(b.String())
}

// looked returns what is at path in the last output.
func looked(ts *testscript.TestScript, path string) any {
	v, err := theJSON(ts.ReadFile("stdout"))
	ts.Check(err)
	v, err = at(v, path)
	ts.Check(err)
	return v
}

func wants(ts *testscript.TestScript, args []string, n int, usage string) {
	if len(args) != n {
		ts.Fatalf("usage: %s", usage)
	}
}

func cmdJSON(ts *testscript.TestScript, neg bool, args []string) {
	wants(ts, args, 2, "json PATH WANT")
	if got := said(looked(ts, args[0])); (got == args[1]) == neg {
		ts.Fatalf("%s is %s, want %s (negated: %v)", args[0], got, args[1], neg)
	}
}

func cmdNear(ts *testscript.TestScript, _ bool, args []string) {
	wants(ts, args, 3, "near PATH WANT WITHIN")
	var x [3]float64
	for i, text := range []string{said(looked(ts, args[0])), args[1], args[2]} {
		var err error
		if x[i], err = strconv.ParseFloat(text, 64); err != nil {
			ts.Fatalf("%s: %v", args[0], err)
		}
	}
	if !(math.Abs(x[0]-x[1]) <= x[2]) {
		ts.Fatalf("%s is %g, want %g within %g", args[0], x[0], x[1], x[2])
	}
}

func cmdKeep(ts *testscript.TestScript, _ bool, args []string) {
	wants(ts, args, 2, "keep NAME PATH")
	ts.Setenv(args[0], said(looked(ts, args[1])))
}

var snakeCase = regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)

func cmdSnake(ts *testscript.TestScript, _ bool, args []string) {
	wants(ts, args, 0, "snake")
	checkSnake(ts, looked(ts, "."), "")
}

func checkSnake(ts *testscript.TestScript, v any, path string) {
	switch x := v.(type) {
	case map[string]any:
		for key, inner := range x {
			if !snakeCase.MatchString(key) {
				ts.Fatalf("the key %q%s is not in snake_case", key, path)
			}
			checkSnake(ts, inner, " below "+key)
		}
	case []any:
		for _, inner := range x {
			checkSnake(ts, inner, path)
		}
	}
}

func cmdSame(ts *testscript.TestScript, neg bool, args []string) {
	wants(ts, args, 3, "same FILE FILE PATH")
	var got [2]any
	for i, name := range args[:2] {
		v, err := theJSON(ts.ReadFile(name))
		ts.Check(err)
		got[i], err = at(v, args[2])
		ts.Check(err)
	}
	if reflect.DeepEqual(got[0], got[1]) == neg {
		ts.Fatalf("%s of %s and %s (same: %v):\n%s\n%s", args[2], args[0], args[1], !neg, said(got[0]), said(got[1]))
	}
}

func cmdLines(ts *testscript.TestScript, _ bool, args []string) {
	wants(ts, args, 1, "lines N")
	most, err := strconv.Atoi(args[0])
	ts.Check(err)
	for line := range strings.Lines(ts.ReadFile("stdout")) {
		if n := len([]rune(strings.TrimRight(line, "\n"))); n > most {
			ts.Fatalf("a line has %d columns, want at most %d: %s", n, most, line)
		}
	}
}

func cmdSentence(ts *testscript.TestScript, _ bool, args []string) {
	wants(ts, args, 0, "sentence")
	text, ended := strings.CutSuffix(ts.ReadFile("stderr"), "\n")
	if !strings.HasPrefix(text, "pinset: ") || !ended || strings.Contains(text, "\n") {
		ts.Fatalf("standard error is not one line of pinset: %q", text)
	}
}

func cmdShoot(ts *testscript.TestScript, _ bool, args []string) {
	seed, err := strconv.ParseUint(args[1], 10, 64)
	ts.Check(err)
	s := phototest.Shot{Width: 64, Height: 48, Seed: seed, Orientation: 6}
	if len(args) > 2 {
		s.Taken = args[2]
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), phototest.JPEG(s), 0o644))
}
