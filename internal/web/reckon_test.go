package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/reckoner"
)

// TestEveryCalculatorHasAForm asks for the form of each, and sends it blank
// and wrong: both must be answered with words, never with a fault.
func TestEveryCalculatorHasAForm(t *testing.T) {
	x := newSite(t, Options{})
	list := x.get("/reckoner").doc()
	for _, c := range reckoner.All() {
		list.want("a way to "+c.Name, with("href", at("reckoner", c.Name)))
		d := x.get(at("reckoner", c.Name)).status(http.StatusOK).doc()
		d.wellFormed(c.Title)
		if len(d.all(has("name"))) < 2 {
			t.Errorf("%s has no fields", c.Name)
		}
		for _, value := range []string{"", "nonsense", "-1", "1e400", "[", "a,b\n1"} {
			v := url.Values{"": {""}}
			for _, n := range d.all(has("name")) {
				if name := attr(n, "name"); !strings.HasPrefix(name, "to") && name != "here" && name != "q" && name != "viewport" && name != "color-scheme" {
					v.Set(name, value)
				}
			}
			a := x.get(at("reckoner", c.Name) + "?" + v.Encode())
			if a.Code >= 500 {
				t.Errorf("%s with %q: status %d", c.Name, value, a.Code)
			}
			a.doc().wellFormed(c.Title)
		}
	}
	x.get("/reckoner/hold-on").status(http.StatusNotFound).doc().want("the nearest one", tag("p"), says("Did you mean"))
}

func TestTheHoldIsReckoned(t *testing.T) {
	x := newSite(t, Options{})
	v := url.Values{"hold_min": {"60"}, "marks": {"at,event\n18:10,reached\n18:43,lost\n18:52,back\n20:00,heat_off"}}
	d := x.get("/reckoner/held?" + v.Encode()).status(http.StatusOK).doc()
	d.want("the longest stretch with its unit", tag("dd"), says("68 min"))
	d.want("the caution", class("caution"), says("interrupted"))
	d.want("the working", tag("details"), class("working"))
	d.want("what was typed", tag("textarea"), with("name", "marks"), says("18:43,lost"))

	v.Set("hold_min", "an hour")
	x.get("/reckoner/held?"+v.Encode()).mended("hold_min", "an hour", "is not a number")
	v.Set("hold_min", "60")
	v.Set("marks", "at,evnt\n18:10,reached")
	a := x.get("/reckoner/held?" + v.Encode()).status(http.StatusUnprocessableEntity)
	a.doc().want("the nearest key, at the field", class("mend"), says("event"))
	v.Set("marks", "at,event\n18:10")
	x.get("/reckoner/held?"+v.Encode()).status(http.StatusUnprocessableEntity).doc().want("which line", class("mend"), says("line 2"))
}

func TestArmsAreComparedFromATable(t *testing.T) {
	x := newSite(t, Options{})
	rows := "jar;arm;fate;value\n1;A;picked;10\n2;A;picked;11\n3;A;picked;10.5\n4;A;lost;\n5;B;picked;12,5\n6;B;picked;13\n7;B;picked;14\n8;B;picked;14"
	d := x.get("/reckoner/compare?" + url.Values{"rows": {rows}, "arms_differ_in": {"treatment"}, "seed": {"1"}}.Encode()).status(http.StatusOK).doc()
	d.want("the sentence first", class("say"))
	d.want("a table of arms", tag("caption"), says("Arms"))
	d.want("a comparison with its own sentence", class("group"), says("B, A"))
}

func TestKeyLabelsBeginWithACapital(t *testing.T) {
	for key, want := range map[string][2]string{
		"hold_min": {"Hold", "min"}, "g_per_inoculated": {"Per jar inoculated", "g"}, "picked": {"Picked", ""}, "cn": {"C:N", ""},
	} {
		label, unit := keyLabel(key)
		if label != want[0] || unit != want[1] {
			t.Errorf("keyLabel(%q) = %q, %q; want %q, %q", key, label, unit, want[0], want[1])
		}
	}
}

func TestNodesKeepTheirOrder(t *testing.T) {
	n, err := readNode([]byte(`{"b":1,"a":{"low":1.5,"best":null,"high":2},"c":[{"x":1},{"x":2.25}],"d":[1,2,3]}`))
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(n.keys, ""); got != "bacd" {
		t.Errorf("keys in the order %s, want bacd", got)
	}
	if got := intervalText(n.at("a")); got != "1.5 to 2" {
		t.Errorf("interval %q", got)
	}
	if isInterval(n) {
		t.Error("an object with other keys is taken for an interval")
	}
	if got := cellText(n.at("c")); got != "x 1, x 2.25" {
		t.Errorf("list %q", got)
	}
	if _, err := readNode([]byte(`{"a":`)); err == nil {
		t.Error("half an object is read")
	}
}

func FuzzReadNumber(f *testing.F) {
	for _, s := range []string{"1", "1,5", "−2", "1e400", "NaN", "Inf", "0x10", "1_000", "", " 7 "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if x, ok := readNumber(s); ok && !json.Valid([]byte(x)) {
			t.Errorf("readNumber(%q) = %s, not JSON", s, x)
		}
	})
}

func FuzzCalcTable(f *testing.F) {
	for _, s := range []string{"at,event\n1,2", "a\tb\n1\t2", "a;b\n\"1;2\";3", "", "\n", "a,b\n1", "\"", "a\n\n\n"} {
		f.Add(s)
	}
	c := calcField{kind: tableField, columns: []calcField{{kind: numberField}}}
	f.Fuzz(func(t *testing.T, s string) {
		rows, err := c.table(s)
		if err != nil {
			return
		}
		if raw, err := json.Marshal(rows); err != nil || raw[0] != '[' {
			t.Errorf("table %q gives %s, %v", s, raw, err)
		}
	})
}

// TestLethalityHasTwoDigits: it is not known better, and what is next to
// nothing is said to be less than a hundredth of a minute.
func TestLethalityHasTwoDigits(t *testing.T) {
	x := newSite(t, Options{})
	v := url.Values{"times_min": {"0,10,20,40,60,80"}, "celsius": {"20,80,110,118,119,90"}, "start_count": {"10000"}, "d_min": {"0.2"}}
	d := x.get("/reckoner/lethality?" + v.Encode()).status(http.StatusOK).doc()
	for label, want := range map[string]string{"F": "17 min", "Log reduction": "87", "Survivors": "< 0.01"} {
		found := ""
		for _, n := range d.all(tag("div"), says(label)) {
			if strings.HasPrefix(text(n), label+" ") && len(text(n)) < 40 {
				found += text(n) + "\n"
			}
		}
		if !strings.Contains(found, label+" "+want+"\n") {
			t.Errorf("%s is shown as %q, want %s", label, found, want)
		}
	}
	v = url.Values{
		"altitude_m": {"0"}, "gauge_psi": {"15"}, "come_up_min": {"20"}, "hold_min": {"60"}, "cool": {"natural"}, "container.bore_mm": {"76"}, "container.fill_mm": {"60"}, "substrate.moisture_pct": {"60"},
	}
	d = x.get("/reckoner/cook?" + v.Encode()).status(http.StatusOK).doc()
	d.want("low, best and high side by side", tag("table"), says("Low"), says("Best"), says("High"), says("F0 heat off, min"), says("Peak, °C"))
}

// What few are asked for is folded away until it is typed, and what the farm
// knows is filled in.
func TestRareFieldsAreFolded(t *testing.T) {
	x := newSite(t, Options{})
	if err := x.farm.SaveSettings(t.Context(), app.NewSettings{Name: "Test barn", Zone: "UTC", Altitude: "420 m"}); err != nil {
		t.Fatal(err)
	}
	folded := func(d doc, name string) bool {
		t.Helper()
		for n := d.one(name, with("name", name)); n != nil; n = n.Parent {
			if n.Data == "details" {
				return true
			}
		}
		return false
	}
	d := x.get("/reckoner/cook").status(http.StatusOK).doc()
	for name, want := range map[string]bool{
		"gauge_psi": false, "container.bore_mm": false, "substrate.moisture_pct": false,
		"air_fraction": true, "wall_w_mk": true, "record.chamber_c": true,
	} {
		if folded(d, name) != want {
			t.Errorf("%s is folded away: %v, want %v", name, !want, want)
		}
	}
	for _, c := range reckoner.All() {
		x.get(at("reckoner", c.Name)).status(http.StatusOK)
	}
	d.want("the farm's altitude", with("name", "altitude_m"), with("value", "420"))
	d.none("an answer to nothing", class("facts"))
	v := url.Values{"altitude_m": {"0"}, "gauge_psi": {"15"}, "come_up_min": {"20"}, "hold_min": {"60"}, "cool": {"natural"}, "container.bore_mm": {"80"}, "container.fill_mm": {"60"}, "substrate.moisture_pct": {"60"}, "air_fraction": {"7"}}
	d = x.get("/reckoner/cook?" + v.Encode()).status(http.StatusUnprocessableEntity).doc()
	if folded(d, "air_fraction") {
		t.Error("a field that is wrong is folded away")
	}
	d.want("what was typed in the place of the farm's altitude", with("name", "altitude_m"), with("value", "0"))
}
