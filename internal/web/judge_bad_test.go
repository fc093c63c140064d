package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinset/internal/app"
)

// Trials that nothing can be said of still have a page, a report and a
// sentence, and no page prints what is no figure.
func TestTrialsOfWhichLittleCanBeSaid(t *testing.T) {
	grams := func(of func(i int) string) func(*site, app.Kept) {
		return func(x *site, k app.Kept) {
			var picks []app.TypedPick
			for i, code := range x.codes(k.Batch.String()) {
				picks = append(picks, app.TypedPick{Jar: code, Grams: of(i)})
			}
			view, err := x.farm.BatchView(context.Background(), k.Batch.String(), 0)
			if err != nil {
				x.t.Fatal(err)
			}
			kept := picks[:0]
			for i, j := range view.Jars {
				if !j.Blank {
					kept = append(kept, picks[i])
				}
			}
			if _, err := x.farm.PickJars(context.Background(), app.Act{}, app.PickInput{Picks: kept, At: "now"}); err != nil {
				x.t.Fatal(err)
			}
		}
	}
	for name, c := range map[string]struct {
		jars   int
		become func(*site, app.Kept)
		says   string
	}{
		"not begun":      {4, nil, "inoculated"},
		"one jar an arm": {1, grams(func(i int) string { return fmt.Sprint(10 + i) }), "jar"},
		"all zero":       {6, grams(func(int) string { return "0" }), ""},
		"all equal":      {6, grams(func(int) string { return "12" }), ""},
		"all lost": {6, func(x *site, k app.Kept) {
			if _, err := x.farm.See(context.Background(), app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·1-13", Fate: "lost", Reason: "broken", At: "now"}); err != nil {
				x.t.Fatal(err)
			}
		}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			x := newSite(t, Options{})
			x.stock()
			in := plan("rice or millet", c.jars)
			in.Cooks = in.Cooks[:1]
			in.Cooks[0].Places = []int{c.jars + 1, c.jars + 1}
			k := must[app.Kept](t)(x.farm.KeepPlan(context.Background(), app.Act{}, in))
			x.cooked(k)
			if c.become != nil {
				must[app.InoculateReport](t)(x.farm.Inoculate(context.Background(), app.Act{}, app.InoculateInput{Batch: "B1", Amount: "2 mL", At: "now"}))
				c.become(x, k)
			}
			for _, path := range []string{"/trials/rice%20or%20millet", "/trials/rice%20or%20millet/report", "/trials/rice%20or%20millet/report.pdf", "/plan/again?trial=rice+or+millet"} {
				body := x.get(path).status(http.StatusOK).Body.String()
				if strings.HasSuffix(path, ".pdf") {
					continue
				}
				for _, bad := range []string{"NaN", "+Inf", "-Inf", "&lt;nil&gt;", "%!"} {
					if strings.Contains(body, bad) {
						t.Errorf("%s prints %s", path, bad)
					}
				}
			}
			said := text(x.get("/trials/rice%20or%20millet").doc().one("verdict", with("aria-labelledby", "verdict")))
			if len(said) < 40 || !strings.Contains(said, c.says) {
				t.Errorf("the verdict says %q", said)
			}
			t.Logf("%q", said)
		})
	}
}

// What can not be planned is said at its field.
func TestPlansThatAreRefused(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	whole := url.Values{
		"name": {"new"}, "jars": {"4"}, "places": {"5, 5"}, "container": {"pint jar"}, "culture": {"LC-3"},
		"arm1_recipe": {"millet cake"}, "arm2_recipe": {"brown rice cake"},
	}
	const page = "/plan/trial?differ=recipe&arms=2"
	for name, c := range map[string]struct{ field, typed, says string }{
		"no jars":         {"jars", "0", "whole number"},
		"a million jars":  {"jars", "1000000", "whole number"},
		"negative":        {"jars", "-3", "whole number"},
		"no number":       {"jars", "NaN", "whole number"},
		"no room":         {"places", "1", "8 too few"},
		"layers":          {"places", "x", "can not be read as layers"},
		"spread":          {"spread", "NaN", "no percentage"},
		"loss":            {"loss", "95", "out of the range"},
		"name of 300":     {"name", strings.Repeat("x", 300), "300 characters"},
		"unknown recipe":  {"arm1_recipe", "nothing", "No recipe is called"},
		"endless matters": {"matters", "1e999", "no percentage"},
	} {
		t.Run(name, func(t *testing.T) {
			v := url.Values{}
			for k, old := range whole {
				v[k] = old
			}
			v[c.field] = []string{c.typed}
			a := x.send(page, "/plan/draft", v).status(http.StatusUnprocessableEntity)
			if body := text(a.doc().one("main", tag("main"))); !strings.Contains(body, c.says) {
				t.Errorf("the page does not say %q: %.300s", c.says, body)
			}
		})
	}
	long := url.Values{}
	for k, old := range whole {
		long[k] = old
	}
	long.Set("arm1_name", strings.Repeat("가", 300))
	x.send(page, "/plan/draft", long).status(http.StatusUnprocessableEntity)
	long.Set("arm1_name", "기장 배지")
	if body := x.send(page, "/plan/keep", long); body.Code != http.StatusSeeOther {
		t.Errorf("an arm in Hangul: status %d, %s", body.Code, body.brief())
	}
	if got := x.get("/trials/new").status(http.StatusOK).Body.String(); !strings.Contains(got, "기장 배지") {
		t.Error("the trial does not name its arm")
	}
}
