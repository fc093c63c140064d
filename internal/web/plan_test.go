package web

import (
	"net/url"
	"reflect"
	"testing"
	"unicode/utf8"

	"pinset/internal/app"
)

func TestReadShelves(t *testing.T) {
	got, err := readShelves(" window 12, light rack 2: 8;\n cellar:6 ")
	if err != nil || len(got) != 3 || got[1].Name != "light rack 2" || got[1].Places != 8 || got[2].Name != "cellar" || got[2].Places != 6 {
		t.Errorf("shelves %+v, error %v", got, err)
	}
	for _, bad := range []string{"window", "12", "window 0", "window x", ": 4", "window 99999"} {
		if got, err := readShelves(bad); err == nil {
			t.Errorf("%q is read as %+v", bad, got)
		}
	}
}

func TestPercent(t *testing.T) {
	for typed, want := range map[string]float64{"": 0, "20": 20, "20 %": 20, " 2,5%": 2.5, "200": 200} {
		if got, err := percent(form{values: url.Values{"x": {typed}}}, "x"); err != nil || got != want {
			t.Errorf("%q is %v, error %v; want %v", typed, got, err, want)
		}
	}
	for _, bad := range []string{"0", "-5", "201", "NaN", "Inf", "x", "1,0,0"} {
		if got, err := percent(form{values: url.Values{"x": {bad}}}, "x"); err == nil {
			t.Errorf("%q is read as %v", bad, got)
		}
	}
}

// Cooks that differ are parted by " / ", and the last part holds for the rest;
// a hold of 1 1/2 h is none of two cooks.
func TestReadCooks(t *testing.T) {
	f := form{values: url.Values{"cooks": {"3"}, "places": {"7, 7 / 5"}, "hold": {"1 1/2 h"}, "gauge": {"15 psi / 100 °C"}, "cooker": {"tall / small / small"}}}
	got, err := readCooks(f)
	want := []app.PlanCook{
		{Cooker: "tall", Places: []int{7, 7}, Hold: "1 1/2 h", Gauge: "15 psi"},
		{Cooker: "small", Places: []int{5}, Hold: "1 1/2 h", Gauge: "100 °C"},
		{Cooker: "small", Places: []int{5}, Hold: "1 1/2 h", Gauge: "100 °C"},
	}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("read %+v, %v", got, err)
	}
	f.values.Set("places", "7, 7 / many")
	if _, err := readCooks(f); err == nil {
		t.Error("many is read as layers")
	}
}

// FuzzPlanForm sends anything into the form of a plan: it is read or refused
// at a field, never worse.
func FuzzPlanForm(f *testing.F) {
	for _, s := range []string{"", "name=x&jars=3&places=7,7", "kind=trial&arms=99&name=x&jars=1&places=1", "kind=trial&arm1_layer=-1&name=x&places=9;9", "shelves=a+1,b&name=x&jars=2&places=2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, query string) {
		v, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		in, err := planOf(form{values: v})
		if err != nil {
			return
		}
		if len(in.Cooks) == 0 || len(in.Cooks) > 50 || len(in.Arms) > 12 || in.Matters < 0 || !utf8.ValidString(in.Name) && utf8.ValidString(query) {
			t.Errorf("%q gives %+v", query, in)
		}
	})
}
