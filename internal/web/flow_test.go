package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"pinset/internal/app"
)

// send posts the form at the page with what v says, as the page's own form
// would: hidden fields and chosen values come from the page.
func (x *site) send(page, action string, v url.Values) answer {
	x.t.Helper()
	d := x.get(page).status(http.StatusOK).doc()
	form := action
	if action == "/plan/keep" { // a button of the form that is drafted
		form = "/plan/draft"
	}
	return x.post(action, d.filled(form, v))
}

// filled returns the fields of the form that is sent to action, with v over them.
func (d doc) filled(action string, v url.Values) url.Values {
	d.t.Helper()
	forms := d.all(tag("form"), with("action", action))
	if len(forms) == 0 {
		d.t.Fatalf("%s: no form is sent to %s", d.what, action)
	}
	out := url.Values{}
	inside := doc{forms[0], d.t, d.what}
	for _, n := range inside.all(tag("input")) {
		kind := attr(n, "type")
		if (kind == "radio" || kind == "checkbox") && !has("checked")(n) || kind == "file" {
			continue
		}
		out.Add(attr(n, "name"), attr(n, "value"))
	}
	for _, n := range inside.all(tag("select")) {
		out.Set(attr(n, "name"), "")
		for _, o := range (doc{n, d.t, d.what}).all(tag("option"), has("selected")) {
			out.Set(attr(n, "name"), attr(o, "value"))
		}
	}
	for _, n := range inside.all(tag("textarea")) {
		out.Set(attr(n, "name"), text(n))
	}
	for key, values := range v {
		out[key] = values
	}
	return out
}

// mended checks that a form came back: what was typed stands in the field,
// the field is marked, and its sentence is tied to it.
func (a answer) mended(name, typed, sentence string) {
	a.t.Helper()
	a.status(http.StatusUnprocessableEntity)
	d := a.doc()
	d.wellFormed("")
	marked := d.all(with("name", name), with("aria-invalid", "true"))
	if len(marked) == 0 {
		a.t.Errorf("%s: the field %s is not marked; the page says %q", a.what, name, a.brief())
		return
	}
	n := marked[0]
	if got := attr(n, "value"); got != typed && n.Data == "input" {
		a.t.Errorf("%s: the field %s holds %q, want %q", a.what, name, got, typed)
	}
	var described []string
	for _, id := range strings.Fields(attr(n, "aria-describedby")) {
		described = append(described, text(d.one("description", with("id", id))))
	}
	if !strings.Contains(strings.Join(described, " "), sentence) {
		a.t.Errorf("%s: the field %s is described by %q, want %q", a.what, name, described, sentence)
	}
}

func TestSuppliesAreWrittenDown(t *testing.T) {
	x := newSite(t, Options{})
	x.send("/supplies", "/supplies/containers", url.Values{"name": {"pint jar"}, "kind": {"jar"}, "volume": {"1 bucket"}}).
		mended("volume", "1 bucket", "bucket")
	x.send("/supplies", "/supplies/containers", url.Values{"name": {"pint jar"}, "kind": {"jar"}, "volume": {"1 pt"}}).to("/supplies#containers")
	x.send("/supplies", "/supplies/containers/lid", url.Values{"container": {"pint jar"}, "lid": {"cork"}}).mended("lid", "cork", "foil")
	x.send("/supplies", "/supplies/containers/lid", url.Values{"container": {"pint jar"}, "lid": {"filter"}}).to("/supplies#containers")
	x.get("/supplies").doc().want("container with its lid", tag("tr"), says("lid with a filter"))
	x.send("/supplies", "/supplies/ingredients", url.Values{"name": {"rye"}, "moisture": {"120 %"}}).mended("moisture", "120 %", "whole")
	x.send("/supplies", "/supplies/ingredients", url.Values{"name": {"rye"}, "moisture": {"12 %"}}).to("/supplies#ingredients")
	d := x.get("/supplies").doc()
	d.want("container with its volume", tag("tr"), says("473.2 mL"))
	d.want("ingredient with its water", tag("tr"), says("12 %"))

	x.send("/cultures", "/cultures", url.Values{"name": {"  "}}).mended("name", "  ", "no name")
	x.send("/cultures", "/cultures", url.Values{"name": {"LC-1"}, "form": {"LC"}, "made": {"soon"}}).mended("made", "soon", "is not a day")
	x.send("/cultures", "/cultures", url.Values{"name": {"LC-1"}, "form": {"LC"}}).to("/cultures/LC-1")
	x.send("/cultures", "/cultures", url.Values{"name": {"LC-2"}, "form": {"LC"}, "parent": {"LC-1"}}).to("/cultures/LC-2")
	x.get("/cultures").doc().want("descent", tag("li"), says("from LC-1"))
}

func TestARecipeIsWritten(t *testing.T) {
	x := newSite(t, Options{})
	v := url.Values{"name": {"rye cake"}, "mix1": {"grain"}, "fill1": {"41 g"}, "ing1.1": {"rye"}, "amt1.1": {"forty g"}, "ing1.2": {"gypsum"}, "amt1.2": {"1 g"}}
	a := x.send("/supplies/recipe", "/supplies/recipe", v).status(http.StatusUnprocessableEntity)
	a.doc().want("what was typed", tag("input"), with("name", "amt1.1"), with("value", "forty g"))
	a.doc().want("the sentence", says("forty g"), with("role", "alert"))

	v.Set("more", "line")
	d := x.send("/supplies/recipe", "/supplies/recipe", v).status(http.StatusOK).doc()
	d.want("more lines", tag("input"), with("name", "ing1.8"))
	d.want("what was typed", tag("input"), with("name", "ing1.2"), with("value", "gypsum"))
	v.Set("more", "mix")
	d = x.send("/supplies/recipe", "/supplies/recipe", v).status(http.StatusOK).doc()
	d.want("a third mix", tag("input"), with("name", "mix3"))

	v.Del("more")
	v.Set("amt1.1", "40 g")
	x.send("/supplies/recipe", "/supplies/recipe", v).to("/recipes/rye%20cake")
	d = x.get("/recipes/rye%20cake?jars=24").status(http.StatusOK).doc()
	d.want("grams for 24 jars", tag("tr"), says("rye 40 g 960.0"))
	x.get("/recipes/rye%20cake?jars=none").mended("jars", "none", "whole number")

	v.Set("amt1.1", "45 g")
	x.send("/supplies/recipe?from=rye+cake", "/supplies/recipe", v).to("/recipes/rye%20cake")
	x.get("/recipes/rye%20cake").doc().want("the next version", tag("p"), says("Version 2"))
}

// trialForm is what is typed into the form of a trial.
func trialForm() url.Values {
	return url.Values{
		"name": {"rice or millet"}, "arm1_recipe": {"brown rice cake"}, "arm2_recipe": {"millet cake"}, "arm1_name": {"brown rice"}, "arm2_name": {"millet"},
		"culture": {"LC-3"}, "container": {"pint jar"}, "jars": {"12"}, "blanks": {"1"}, "cooks": {"2"}, "places": {"7, 7"}, "hold": {"90 min"}, "gauge": {"15 psi"},
	}
}

func TestAPlanIsDraftedAndKept(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	const form = "/plan/trial?differ=recipe&arms=2"
	v := trialForm()
	v.Set("places", "seven")
	x.send(form, "/plan/draft", v).mended("places", "seven", "can not be read as layers")
	v.Set("places", "2, 2")
	x.send(form, "/plan/draft", v).mended("places", "2, 2", "26 places")
	v = trialForm()
	v.Set("matters", "much")
	x.send(form, "/plan/draft", v).mended("matters", "much", "no percentage")
	v = trialForm()
	v.Set("arm2_recipe", "")
	x.send(form, "/plan/draft", v).mended("arm2_recipe", "", "Arm B has no recipe")
	v.Set("arm2_recipe", "brown rice cake")
	x.send(form, "/plan/draft", v).status(http.StatusUnprocessableEntity).doc().want("sentence that the arms are alike", says("all the same"), with("role", "alert"))

	d := x.send(form, "/plan/draft", trialForm()).status(http.StatusOK).doc()
	d.wellFormed("Plan a trial")
	d.want("sentence on what it can show", tag("p"), class("say"), says("20 %"))
	d.want("button that says how many", tag("button"), with("formaction", "/plan/keep"), says("Allot 24 jars"))
	if discs := len(d.all(tag("li"), func(n *html.Node) bool { return within(n, "ol") && class("discs")(n.Parent) })); discs != 26 {
		t.Errorf("the draft draws %d vessels, want 26", discs)
	}
	if batches, err := x.farm.Batches(t.Context()); err != nil || len(batches) != 0 {
		t.Errorf("the draft stored %d batches, error %v", len(batches), err)
	}
	seed := attr(d.one("the seed", tag("input"), with("name", "seed")), "value")

	keep := d.filled("/plan/draft", url.Values{})
	x.post("/plan/keep", keep).to("/batches/B1/bench")
	x.post("/plan/keep", keep).to("/batches/B1/bench") // a double press keeps it once
	if batches, _ := x.farm.Batches(t.Context()); len(batches) != 1 {
		t.Errorf("%d batches are kept, want 1", len(batches))
	}
	trial := x.get("/trials/rice%20or%20millet").doc()
	trial.want("the seed of the draft", tag("dd"), says("seed "+seed))
	x.get("/batches/B1").doc().want("the undo bar", with("role", "status"), says("B1 rice or millet is planned"))

	again := x.send(form, "/plan/draft", trialForm()).doc().filled("/plan/draft", url.Values{})
	again.Set("act", string(app.NewActID()))
	x.post("/plan/keep", again).mended("name", "rice or millet", "rice or millet")
}

// TestChoicesOfAPlanArrive checks what a draft does not show.
func TestChoicesOfAPlanArrive(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	v := trialForm()
	v.Set("usual", "2")
	v.Set("each", "yes")
	v.Set("primary", "picked")
	v.Set("matters", "15")
	v.Set("closing", "2026-06-30")
	v.Set("question", "Which grain?")
	x.send("/plan/trial?differ=recipe&arms=2", "/plan/keep", v).to("/batches/B1/bench")
	trials, err := x.farm.Trials(t.Context())
	if err != nil || len(trials) != 1 {
		t.Fatalf("%d trials, error %v", len(trials), err)
	}
	got := trials[0]
	if got.Control != "millet" || got.Primary != "picked" || got.Matters != 15 || got.Closing.String() != "2026-06-30" || got.Question != "Which grain?" {
		t.Errorf("the trial is %+v", got.Trial)
	}
	sheet, err := x.farm.BenchSheet(t.Context(), "B1")
	if err != nil || len(sheet.Makings) != 8 { // two mixes of two recipes for each of two cooks
		t.Errorf("%d makings, want 8; error %v", len(sheet.Makings), err)
	}
}

func TestALopsidedPlanIsMended(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	v := trialForm()
	v.Set("cooks", "1")
	v.Set("places", "13, 13")
	v.Set("arm1_layer", "1")
	v.Set("arm2_layer", "2")
	d := x.send("/plan/trial?differ=recipe&arms=2", "/plan/draft", v).status(http.StatusOK).doc()
	d.want("what can not be told apart", class("caution"), with("data-weight", "care"), says("layer"))
	d.want("the one button that mends it", tag("button"), with("name", "repair"))
	mended := d.filled("/plan/draft", url.Values{"repair": {"yes"}})
	d = x.post("/plan/draft", mended).status(http.StatusOK).doc()
	d.none("still aliased", class("caution"), with("data-weight", "care"), says("Can not be told"))
	for _, n := range d.all(tag("select"), with("name", "arm1_layer")) {
		if chosen := (doc{n, t, "layer"}).all(tag("option"), has("selected")); len(chosen) != 0 {
			t.Errorf("arm 1 still stands in layer %s", attr(chosen[0], "value"))
		}
	}
}

func TestAPlainBatchIsPlanned(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	v := url.Values{
		"name": {"stock"}, "recipe": {"millet cake"}, "culture": {"LC-3"}, "container": {"pint jar"}, "jars": {"13"}, "blanks": {"1"}, "cooks": {"1"}, "places": {"7 7"},
		"shelves": {"window 8, cellar: 6"},
	}
	d := x.send("/plan/batch?recipe=millet+cake", "/plan/draft", v).status(http.StatusOK).doc()
	d.want("count", tag("p"), says("13 jars and 1 blank"))
	x.post("/plan/keep", d.filled("/plan/draft", url.Values{})).to("/batches/B1/bench")
	shelf := x.get("/shelf").doc()
	shelf.want("the shelf", tag("h2"), says("cellar"))
	v.Set("shelves", "window")
	x.send("/plan/batch", "/plan/draft", v).mended("shelves", "window", "can not be read as a shelf")
}

func TestABatchIsWorked(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(6)
	bench := x.get("/batches/B1/bench").status(http.StatusOK).doc()
	bench.want("the maker's manual first", class("caution"), with("data-weight", "stop"), says("manual"))
	bench.want("grams to weigh", tag("tr"), says("brown rice 280 g"))
	label := attr(bench.all(tag("input"), with("name", "label"))[0], "value")
	x.post("/batches/B1/makings", url.Values{"label": {label}, "mix": {"grain"}, "ingredient": {"brown rice", "gypsum"}, "w1": {"heavy"}}).status(http.StatusUnprocessableEntity)
	x.post("/batches/B1/makings", url.Values{"label": {label}, "mix": {"grain"}, "ingredient": {"brown rice", "gypsum"}, "w1": {"281"}, "w2": {"7 g"}}).to("/batches/B1/bench#mixes")
	x.post("/batches/B1/makings", url.Values{"label": {label}, "mix": {"grain"}, "ingredient": {"brown rice"}, "w1": {"281"}, "at": {"whenever"}}).
		status(http.StatusUnprocessableEntity).doc().want("what is wrong with the time", with("role", "alert"), says("whenever"))

	x.post("/cooks/1/mark", url.Values{"event": {"lost"}}).status(http.StatusUnprocessableEntity).doc().want("why not", with("role", "alert"))
	x.post("/cooks/1/mark", url.Values{"event": {"reached"}, "at": {"08:15"}}).to("/cooks/1")
	cook := x.get("/cooks/1").doc()
	cook.want("the time that was typed", tag("li"), says("08:15"))
	cook.want("the running minutes", class("clock"))
	cook.want("the amber button", tag("button"), class("alarm"), with("value", "lost"))
	x.get("/batches/B1/inoculate").doc().want("jars held back", says("its cook is still running"), tag("li"))
}

func TestJarsOfABadCookNeedAReason(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(6)
	for _, c := range []string{"1", "2"} {
		x.mark(c, "reached")
		x.clock.add(20 * 60e9)
		x.mark(c, "heat_off")
	}
	page := x.get("/batches/B1/inoculate").doc()
	page.want("a reason can be written", tag("input"), with("name", "override"))
	page.want("a button that does nothing", tag("button"), has("disabled"))
	x.post("/batches/B1/inoculate", url.Values{}).mended("override", "", "held back")
	v := url.Values{"override": {"test of the blanks"}, "amount": {"2 mL"}}
	x.post("/batches/B1/inoculate", v).to("/batches/B1")
	x.get("/j/"+x.codes("B1")[0]).doc().want("the reason in the history", tag("li"), says("test of the blanks"))
}

func TestInoculateRoundsWeighUndo(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.cooked(x.batch(6))
	codes := x.codes("B1")
	x.get("/").doc().want("what is due, with the way to it", tag("a"), with("href", "/batches/B1/inoculate"))

	x.post("/batches/B1/inoculate", url.Values{"amount": {"two"}}).mended("amount", "two", "two")
	d := x.get("/batches/B1/inoculate?amount=2+mL&except=3").status(http.StatusOK).doc()
	d.want("what it comes to", class("say"), says("11 of 12, 2 mL from LC-3"))
	d.want("the button with its count", tag("button"), says("Done, 11 jars"))
	act := url.Values{"amount": {"2 mL"}, "except": {"3"}, "act": {string(app.NewActID())}}
	x.post("/batches/B1/inoculate", act).to("/batches/B1")
	x.post("/batches/B1/inoculate", act).to("/batches/B1")
	if lines := x.get("/j/"+codes[0]).doc().all(tag("li"), says("inoculated with")); len(lines) != 1 {
		t.Errorf("%d inoculations after a double press, want 1", len(lines))
	}

	x.post("/batches/B1/rounds", url.Values{"see": {"stage:pins"}}).mended("numbers", "", "No jar is chosen")
	x.post("/batches/B1/rounds", url.Values{"see": {""}, "jar": {"1", "2"}}).status(http.StatusUnprocessableEntity).
		doc().want("the ticks", tag("input"), with("value", "2"), has("checked"))
	x.post("/batches/B1/rounds", url.Values{"see": {"stage:pins"}, "jar": {"1", "2"}, "numbers": {"4-6"}, "at": {"whenever"}}).mended("at", "whenever", "is not a day")
	x.clock.add(30 * 24 * 3600e9)
	x.post("/batches/B1/rounds", url.Values{"see": {"stage:pins"}, "jar": {"1", "2"}, "numbers": {"4-6"}, "at": {"yesterday"}}).to("/batches/B1/rounds#n2")
	rounds := x.get("/batches/B1/rounds").doc()
	rounds.want("the undo bar", with("role", "status"), says("B1·1–2, 4–6"))
	rounds.want("jar with its arm and stage in words", tag("input"), with("name", "jar"), func(n *html.Node) bool {
		label := attr(n, "aria-label")
		return strings.HasPrefix(label, "jar 4, A pins, "+codes[3]) || strings.HasPrefix(label, "jar 4, B pins, "+codes[3])
	})
	x.post("/j/"+codes[6]+"/seen", url.Values{"see": {"lost:fouled"}, "note": {"green at the rim"}}).to("/j/" + codes[6])
	x.get("/j/"+codes[6]).doc().want("what became of it", tag("li"), says("lost: fouled: green at the rim"))
	x.get("/batches/B1").doc().want("the lost jar, in words", class("cell"), func(n *html.Node) bool {
		label := attr(n, "aria-label")
		return strings.HasPrefix(label, "jar 7, ") && strings.HasSuffix(label, " fouled, "+codes[6])
	})

	undo := x.get("/batches/B1").doc().filled("/undo", url.Values{})
	x.post("/undo", undo).to(undo.Get("here"))
	x.post("/undo", undo).to(undo.Get("here")) // a second press does no more
	x.get("/j/"+codes[6]).doc().want("the entry struck through", class("gone"), says("lost: fouled"))
	x.get("/undo").doc().want("the entry struck through in the list", class("gone"), says("lost: fouled"))

	x.post("/j/"+codes[0]+"/seen", url.Values{"see": {"stage:growth"}}).to("/j/" + codes[0]) // it had pins yesterday
	x.get("/j/"+codes[0]).doc().want("what is to be answered", tag("li"), says("only first growth on day 30, which is later. Which of the two visits is right?"))
	backward := x.get("/j/"+codes[0]).doc().filled("/undo", url.Values{})
	x.post("/undo", backward).to("/j/" + codes[0])
	x.get("/j/"+codes[0]).doc().none("what is to be answered, once it was taken back", tag("li"), says("Which of the two visits is right?"))

	x.post("/batches/B1/weigh", url.Values{"g1": {"12.5"}, "g2": {"plenty"}}).mended("g2", "plenty", "plenty")
	x.post("/batches/B1/weigh", url.Values{"g1": {"12.5"}, "flush": {"none"}}).mended("flush", "none", "whole number")
	x.post("/batches/B1/weigh", url.Values{}).status(http.StatusUnprocessableEntity).doc().want("nothing weighed", says("Nothing was weighed"), with("role", "alert"))
	x.post("/batches/B1/weigh", url.Values{"g1": {"12.5"}, "g2": {"0.5 oz"}}).to("/batches/B1")
	x.get("/crop").doc().want("grams", tag("tr"), says("26.7"))
}

func TestTheVerdictStandsFirst(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(12)
	x.get("/trials/rice%20or%20millet").status(http.StatusOK)
	x.grown(k)
	d := x.get("/trials/rice%20or%20millet").status(http.StatusOK).doc()
	verdict := func(n *html.Node) bool {
		for n = n.Parent; n != nil; n = n.Parent {
			if class("verdict")(n) {
				return true
			}
		}
		return false
	}
	say := d.all(class("say"), verdict)
	if len(say) != 1 || !strings.Contains(text(say[0]), "millet") {
		t.Fatalf("%d verdicts", len(say))
	}
	first := d.all(func(n *html.Node) bool { return n.Data == "table" || class("say")(n) })[0]
	if first != say[0] {
		t.Error("a table stands before the verdict")
	}
	d.want("how it ends, in words", class("ending"))
	d.want("the working", tag("details"), class("working"))
	d.want("failed jars beside their arm", tag("th"), says("lost"))
}

func TestFindLeadsThere(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(6)
	code := x.codes("B1")[2]
	for q, want := range map[string]string{
		code: "/j/" + code, strings.ToLower(code): "/j/" + code, "B1·3": "/j/" + code, "b1.3": "/j/" + code, "B1": "/batches/B1", "cook 2": "/cooks/2",
		"lc-3": "/cultures/LC-3", "Rice or Millet": "/trials/rice%20or%20millet",
	} {
		if a := x.get("/find?q=" + url.QueryEscape(q)); a.Header().Get("Location") != want && !strings.HasPrefix(a.Header().Get("Location"), "/batches/B1") {
			t.Errorf("find %q leads to %q, want %q", q, a.Header().Get("Location"), want)
		}
	}
	a := x.get("/find?q=nothing+at+all").status(http.StatusNotFound)
	a.doc().want("the field with its words", tag("input"), with("name", "q"), with("value", "nothing at all"), with("aria-invalid", "true"))
	x.get("/J/"+strings.ToLower(code)).status(http.StatusOK).doc().want("the jar", tag("h1"), says("B1·3"))
}

func TestSettingsAndLamp(t *testing.T) {
	x := newSite(t, Options{})
	x.send("/settings", "/settings", url.Values{"zone": {"Nowhere/Land"}}).mended("zone", "Nowhere/Land", "time zone")
	x.send("/settings", "/settings", url.Values{"altitude": {"high"}}).mended("altitude", "high", "high")
	x.send("/settings", "/settings", url.Values{"name": {"Quill barn"}, "zone": {"UTC"}, "altitude": {"1400 ft"}, "by": {"MO"}}).to("/settings")
	d := x.get("/settings").doc()
	d.want("the altitude in metres", tag("input"), with("name", "altitude"), with("value", "427 m"))
	d.want("initials of who enters", says("Entries by MO"), class("who"))
}

func TestTheLampChangesTheThemeWithoutScripts(t *testing.T) {
	x := newSite(t, Options{})
	root := func() *html.Node { return x.get("/plan").doc().one("html", tag("html")) }
	if has("data-theme")(root()) {
		t.Error("a theme is set before it was chosen")
	}
	x.post("/lamp", url.Values{"to": {"dim"}, "here": {"/plan"}}).to("/plan")
	if got := attr(root(), "data-theme"); got != "dim" {
		t.Errorf("theme %q, want dim", got)
	}
	x.get("/plan").doc().want("a dark canvas before any style", tag("meta"), with("name", "color-scheme"), with("content", "dark"))
	x.post("/lamp", url.Values{"to": {"purple"}, "here": {"//example.net"}}).to("/")
	if got := attr(root(), "data-theme"); got != "dim" {
		t.Errorf("theme %q after an unknown one", got)
	}
	x.post("/lamp", url.Values{"to": {""}, "here": {"/plan"}}).to("/plan")
	if has("data-theme")(root()) {
		t.Error("the theme of the system does not come back")
	}
}

// TestRoundsAreDarkUnlessChosen: eyes and jars in the grow room get no white page.
// TestTheGrowRoomStaysDark opens what a label at the shelf opens, and what
// goes wrong there: none is lighter than rounds.
func TestTheGrowRoomStaysDark(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(1)
	code := x.codes("B1")[0]
	dark := func(a answer, want string) {
		t.Helper()
		if got := attr(a.doc().one("html", tag("html")), "data-theme"); got != want {
			t.Errorf("%s: theme %q, want %q", a.what, got, want)
		}
	}
	for _, path := range []string{"/j/" + code, "/J/" + code, "/j/" + code + "/photos", "/batches/B1/photos", "/batches/B1/rounds", "/batches/B1/check", "/rounds", "/scan"} {
		dark(x.get(path).status(http.StatusOK), "dark")
	}
	for _, path := range []string{"/j/22222", "/batches/B9/rounds", "/shelves/none/rounds/x"} {
		dark(x.get(path).status(http.StatusNotFound), "dark")
	}
	dark(x.post("/j/22222/seen", url.Values{"see": {"sign:clean"}}), "dark")
	dark(x.post("/undo", url.Values{"deed": {"none"}, "here": {"/batches/B1/rounds"}}), "dark")
	dark(x.get("/nowhere"), "")
	x.post("/lamp", url.Values{"to": {"light"}}).to("/")
	dark(x.get("/j/"+code), "light")
	dark(x.get("/j/22222"), "light")
}

func TestRoundsAreDarkUnlessChosen(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(1)
	theme := func() string { return attr(x.get("/batches/B1/rounds").doc().one("html", tag("html")), "data-theme") }
	if got := theme(); got != "dark" {
		t.Errorf("theme %q, want dark", got)
	}
	x.post("/lamp", url.Values{"to": {"light"}}).to("/")
	if got := theme(); got != "light" {
		t.Errorf("theme %q, want light", got)
	}
}

// TestFourHundredJars pages through a batch that is larger than one page.
func TestFourHundredJars(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	in := app.PlanInput{
		Name: "many", Recipe: "millet cake", Culture: "LC-3", Container: "pint jar", Jars: 405,
		Cooks: []app.PlanCook{{Places: []int{203, 202}, Hold: "90 min"}},
	}
	k := must[app.Kept](t)(x.farm.KeepPlan(t.Context(), app.Act{ID: app.NewActID()}, in))
	x.cooked(k)
	x.post("/batches/B1/inoculate", url.Values{"amount": {"2 mL"}}).to("/batches/B1")
	for _, page := range []string{"/batches/B1", "/batches/B1/rounds", "/batches/B1/weigh"} {
		first := x.get(page).status(http.StatusOK).doc()
		first.wellFormed("")
		first.want("the way on", tag("a"), says("Jars after 400"))
		rest := x.get(page + "?after=400").status(http.StatusOK).doc()
		rest.want("jar 405", func(n *html.Node) bool { return strings.Contains(attr(n, "aria-label"), "jar 405,") })
		rest.none("jar 400", func(n *html.Node) bool { return strings.Contains(attr(n, "aria-label"), "jar 400,") })
	}
	x.post("/batches/B1/weigh", url.Values{"after": {"400"}, "g405": {"9"}}).to("/batches/B1")
	x.post("/batches/B1/rounds", url.Values{"numbers": {"1-405"}, "see": {"stage:pins"}, "after": {"400"}}).to("/batches/B1/rounds?after=400")
	x.get("/shelf").status(http.StatusOK).doc().wellFormed("Shelf")
}
