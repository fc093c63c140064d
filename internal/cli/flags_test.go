package cli

import (
	"slices"
	"strings"
	"testing"

	"pinset/internal/lab"
)

func TestJSONIsTakenAnywhere(t *testing.T) {
	for typed, want := range map[string]string{
		"":                           " false",
		"--json":                     " true",
		"trial --json list":          "trial list true",
		"--json calc held --in a":    "calc held --in a true",
		"calc held --json":           "calc held true",
		"find -- --json":             "find -- --json false",
		"batch list --json=false":    "batch list false",
		"--json batch --json=false":  "batch false",
		"seen add B1 --note=--json":  "seen add B1 --note=--json false",
		"batch list --json=true --x": "batch list --x true",
	} {
		args := strings.Fields(typed)
		before := slices.Clone(args)
		rest, asJSON := takeJSON(args)
		got := strings.Join(rest, " ") + map[bool]string{true: " true", false: " false"}[asJSON]
		if got != want {
			t.Errorf("takeJSON(%q) = %q, want %q", typed, got, want)
		}
		if !slices.Equal(args, before) {
			t.Errorf("takeJSON changed its arguments to %q", args)
		}
	}
}

func TestReadArm(t *testing.T) {
	arm, err := readArm(0, " oats : recipe=oat cake, layer=2,cook=1 , treatment=x=y")
	if err != nil || arm.Name != "oats" || arm.Recipe != "oat cake" || arm.Layer != 2 || arm.Cook != 1 || arm.Treatment != "x=y" {
		t.Errorf("the arm is read as %+v, %v", arm, err)
	}
	for _, typed := range []string{"A: recipe", "A: layer=top", "A: colour=red", "A: cook=1.5"} {
		if _, err := readArm(0, typed); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("readArm(%q): %v, want an Invalid Problem", typed, err)
		}
	}
}

func FuzzReadCalcFlags(f *testing.F) {
	f.Add("--hold_min 60 --in x.json")
	f.Add("--a=b --schema --working -h")
	f.Add("-- --= --json =")
	f.Fuzz(func(t *testing.T, typed string) {
		o, err := readCalcFlags(strings.Fields(typed))
		if err != nil {
			if _, ok := lab.AsProblem(err); !ok {
				t.Fatalf("%v is no Problem", err)
			}
			return
		}
		for key := range o.keys {
			if key == "" || strings.Contains(key, "-") && !strings.HasPrefix(key, "-") && strings.Contains(key, "_-") {
				t.Fatalf("the key %q is read from %q", key, typed)
			}
		}
	})
}

func FuzzReadArm(f *testing.F) {
	f.Add("A: recipe=oats, layer=1")
	f.Add("::==,,")
	f.Fuzz(func(t *testing.T, typed string) {
		if _, err := readArm(0, typed); err != nil && !lab.IsKind(err, lab.Invalid) {
			t.Fatalf("readArm(%q): %v is no Invalid Problem", typed, err)
		}
	})
}
