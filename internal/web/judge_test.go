package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"pinset/internal/app"
)

// A reading is kept from the trial's page, and stands there as history.
func TestKeepReading(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.grown(x.batch(6))
	const page = "/trials/rice%20or%20millet"
	for _, want := range []string{"First reading", "Read again: same data, same answer"} {
		a := x.send(page, page+"/judge", nil)
		a.status(http.StatusSeeOther)
		d := x.get(page).status(http.StatusOK).doc()
		if got := text(d.one("history", tag("ol"), with("class", "log"))); !strings.Contains(got, want) {
			t.Errorf("history says %q, want %q", got, want)
		}
	}
	pdf := x.get(page + "/report.pdf").status(http.StatusOK)
	if !strings.HasPrefix(pdf.Body.String(), "%PDF") {
		t.Error("the report is no PDF")
	}
	x.get(page + "/report.pdf?paper=a5").status(http.StatusUnprocessableEntity)
}

// blindBatch plans, cooks and inoculates a blind trial.
func (x *site) blindBatch() app.Kept {
	x.t.Helper()
	k, err := x.farm.KeepPlan(x.t.Context(), app.Act{}, app.PlanInput{
		Name: "hidden", Blind: true, Differ: []string{"recipe"}, Control: "plainration",
		Arms:    []app.PlanArm{{Name: "plainration", Recipe: "brown rice cake"}, {Name: "goldration", Recipe: "millet cake"}},
		Culture: "LC-3", Container: "pint jar", Jars: 4, BlanksPerCook: 1, Cooks: []app.PlanCook{{Places: []int{5, 5}, Hold: "60 min"}}, Seed: "8",
	})
	if err != nil {
		x.t.Fatal(err)
	}
	x.cooked(k)
	return k
}

// Nothing that a hand at the shelf can reach names an arm of a blind trial,
// until its key is opened. The bench sheet is the key, and says so.
func TestBlindAtTheShelf(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.blindBatch()
	if _, err := x.farm.Inoculate(t.Context(), app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL", At: "now"}); err != nil {
		t.Fatal(err)
	}
	todo := []string{
		"/", "/all", "/plan", "/trials", "/shelf", "/cooks", "/crop", "/cultures", "/fouled", "/batches", "/supplies", "/trials/hidden/report", "/labels.pdf?kind=jars&batch=B1", "/find?q=hidden",
		"/export/jars.csv", "/export/seen.csv", "/export/picks.csv", "/export/batches.csv", "/export/cooks.csv", "/cultures/LC-3", "/trials/hidden/report.pdf",
		"/api/v1/batches", "/api/v1/batches/B1", "/api/v1/batches/B1/jars", "/api/v1/jars/B1.1", "/api/v1/jars/B1.2", "/api/v1/cooks", "/api/v1/trials", "/api/v1/trials/hidden/verdict",
	}
	perJar := []string{"/j/", "/export/jars.csv", "/export/seen.csv", "/fouled", "/api/v1/jars/", "/api/v1/batches/B1/jars", "/api/v1/trials"}
	seen := make(map[string]bool)
	for len(todo) > 0 {
		path := todo[0]
		todo = todo[1:]
		if seen[path] || path == "/batches/B1/bench" || strings.HasPrefix(path, "/batches/B1/bench.pdf") {
			continue
		}
		seen[path] = true
		a := x.get(path)
		body := a.Body.String()
		for _, name := range []string{"plainration", "goldration"} {
			if strings.Contains(body, name) {
				t.Errorf("%s names %s", path, name)
			}
		}
		if a.Code >= http.StatusBadRequest {
			t.Errorf("%s answers %d", path, a.Code)
		}
		if strings.Contains(body, "millet cake") && slices.ContainsFunc(perJar, func(p string) bool { return strings.HasPrefix(path, p) }) {
			t.Errorf("%s names the recipe", path)
		}
		if strings.HasSuffix(path, ".pdf") || a.Code != http.StatusOK || !strings.Contains(a.Header().Get("Content-Type"), "html") {
			continue
		}
		for _, n := range a.doc().all(tag("a")) {
			if href, _, _ := strings.Cut(attr(n, "href"), "#"); strings.HasPrefix(href, "/") && len(seen) < 300 {
				todo = append(todo, href)
			}
		}
	}
	if len(seen) < 30 {
		t.Errorf("only %d pages were walked", len(seen))
	}
	if sheet := x.get("/batches/B1/bench").status(http.StatusOK).Body.String(); !strings.Contains(sheet, "goldration") || !strings.Contains(sheet, "key of a blind trial") {
		t.Error("the bench sheet does not name the arms, or does not say that it is the key")
	}
	x.send("/trials/hidden", "/trials/hidden/key", nil).status(http.StatusSeeOther)
	if open := x.get("/trials/hidden").status(http.StatusOK).Body.String(); !strings.Contains(open, "goldration") {
		t.Error("the key is open, but the arms are not named")
	}
}

func TestDealToTheLight(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(4)
	const page = "/trials/rice%20or%20millet"
	x.send(page, page+"/redraw", url.Values{"seed": {"9"}}).status(http.StatusSeeOther)
	x.cooked(k)
	if _, err := x.farm.Inoculate(t.Context(), app.Act{}, app.InoculateInput{Batch: "B1", Amount: "2 mL", At: "now"}); err != nil {
		t.Fatal(err)
	}
	x.send(page, page+"/light", url.Values{"shelves": {"window"}}).mended("shelves", "window", "can not be read as a shelf")
	x.send(page, page+"/light", url.Values{"shelves": {"window 2, lamp 2"}}).status(http.StatusUnprocessableEntity)
	x.send(page, page+"/light", url.Values{"shelves": {"window 4, lamp 4"}}).status(http.StatusSeeOther)
	said := text(x.get(page).doc().one("plan", with("aria-labelledby", "plan")))
	for _, want := range []string{"To the cooker", "To the light", "succeeds the draw before", "seed 9"} {
		if !strings.Contains(said, want) {
			t.Errorf("the plan says %q, want %q", said, want)
		}
	}
}

// The repeat is one tap away: its form holds the arms, and its draft is worked out.
func TestPlanAgain(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.grown(x.batch(6))
	d := x.get("/plan/again?trial=rice+or+millet").status(http.StatusOK).doc()
	if got := attr(d.one("name", with("name", "name")), "value"); got != "rice or millet again" {
		t.Errorf("it is called %q", got)
	}
	if got := attr(d.one("spread", with("name", "spread")), "value"); got == "" {
		t.Error("the spread that was seen is not carried over")
	}
	d.one("curve", tag("figure"), with("class", "drawing"), func(n *html.Node) bool { return within(n, "section") && strings.Contains(text(n), "Jars an arm") })
	v := d.filled("/plan/draft", nil)
	x.post("/plan/keep", v).status(http.StatusSeeOther)
	x.get("/plan/again?trial=nothing").status(http.StatusNotFound)
}

// The days of a trial stand on its page and in full on their own, with what is
// to be answered.
func TestTrialDays(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(6)
	x.grown(k)
	see := func(jar, stage, cover, at string) {
		t.Helper()
		if _, err := x.farm.See(t.Context(), app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·" + jar, Stage: stage, Cover: cover, At: at}); err != nil {
			t.Fatal(err)
		}
	}
	for i, jars := range []string{"1,4,9", "2,5,10", "3,8,11", "6,12"} {
		see(jars, "", "40", "2026-03-12")
		see(jars, "", "80", "2026-03-16")
		see(jars, "cover", "", fmt.Sprintf("2026-03-%d", 19+2*i))
		see(jars, "pins", "", fmt.Sprintf("2026-03-%d", 20+2*i))
	}
	see("1", "cover", "", "2026-03-25")
	const page = "/trials/rice%20or%20millet"
	d := x.get(page).status(http.StatusOK).doc()
	if got := text(d.one("days", tag("main"))); !strings.Contains(got, "times as long as") || !strings.Contains(got, "to be answered") {
		t.Errorf("the page of the trial says nothing of days: %.300s", got)
	}
	a := x.get(page + "/days?stage=pins").status(http.StatusOK)
	got := text(a.doc().one("main", tag("main")))
	for _, want := range []string{"to pins", "Cover", "half covered", "and only full cover on day", "never seen with first colour", "Left out until then."} {
		if !strings.Contains(got, want) {
			t.Errorf("the page of days does not say %q", want)
		}
	}
	if a.Body.Len() > 90_000 {
		t.Errorf("the page of days has %d bytes for 12 jars", a.Body.Len())
	}
	if z := x.get(page + "/package.zip").status(http.StatusOK); !strings.HasPrefix(z.Body.String(), "PK") {
		t.Error("the package is no zip file")
	}
	x.get(page + "/days?stage=soup").status(http.StatusOK)
	x.get("/trials/none/days").status(http.StatusNotFound)
}
