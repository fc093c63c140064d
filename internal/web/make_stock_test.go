package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinset/internal/app"
)

// A delivery is written down, gives its moisture and price to the recipe, and
// is drawn down by what is weighed.
func TestALotIsReceivedAndUsed(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.post("/ingredients/brown%20rice/lots", url.Values{"bought": {"2 x 5 kg"}, "price": {"20 EUR"}, "moisture": {"12 %"}, "supplier_code": {"R-9"}}).to("/ingredients/brown%20rice#lots")
	x.get("/ingredients/brown%20rice").status(http.StatusOK).doc().want("the lot with its price", tag("tr"), says("2.00 EUR a kg"))
	x.get("/supplies").status(http.StatusOK).doc().want("what is left", tag("tr"), says("brown rice 12 %"))
	page := x.get("/recipes/brown%20rice%20cake?jars=24&container=pint+jar&lc=3+mL").status(http.StatusOK).doc()
	page.want("depth in the container", tag("dd"), says("mm in a pint jar"))
	for _, how := range []string{"wet - water", "100 × water / wet", "larger of volume without air", "mL per jar / kg as filled", "mL of liquid / g of grain"} {
		page.want("the working of a figure", tag("details"), class("how"), says(how))
	}
	page.want("liquid culture per kilogram", tag("dd"), says("by 3 mL a jar"))
	page.want("which malt", tag("h2"), says("Which malt extract is it?"))
	x.post("/ingredients/malt%20extract", url.Values{"stands_for": {"malt syrup"}, "recipe": {"brown rice cake"}}).to("/recipes/brown%20rice%20cake")
	if got := x.get("/recipes/brown%20rice%20cake").doc().all(tag("h2"), says("Which malt extract")); len(got) > 0 {
		t.Error("what was answered is asked again")
	}
	x.post("/ingredients/brown%20rice/lots", url.Values{"moisture": {"130 %"}}).status(http.StatusUnprocessableEntity).doc().want("what is wrong", has("aria-invalid"))
	x.batch(6)
	bench := x.get("/batches/B1/bench").status(http.StatusOK).doc()
	bench.want("the lot beside its line", tag("tr"), says("brown rice I1"))
	bench.want("a link to the paper", tag("a"), with("href", "/batches/B1/bench.pdf?paper=letter&units=us"))
	label := attr(bench.all(tag("input"), with("name", "label"))[0], "value")
	x.post("/batches/B1/makings", url.Values{"label": {label}, "mix": {"grain"}, "ingredient": {"brown rice", "gypsum"}, "w1": {"1000"}, "lot1": {"I1"}}).to("/batches/B1/bench#mixes")
	x.get("/ingredients/brown%20rice").doc().want("what is left", tag("tr"), says("9 kg"))
	typed := url.Values{"label": {label}, "mix": {"grain"}, "ingredient": {"brown rice", "gypsum"}, "w1": {"1000"}, "w2": {"-3 g"}, "at": {"yesterday"}}
	wrong := x.send("/batches/B1/bench", "/batches/B1/makings", typed)
	wrong.mended("w2", "-3 g", "below 0")
	wrong.doc().want("the other weight", tag("input"), with("name", "w1"), with("value", "1000"))
	wrong.doc().want("the time", tag("input"), with("name", "at"), with("value", "yesterday"))
}

func TestSheetsArePrinted(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(6)
	for _, path := range []string{"/batches/B1/bench.pdf", "/batches/B1/bench.pdf?paper=letter&units=us"} {
		a := x.get(path).status(http.StatusOK)
		if a.Header().Get("Content-Type") != "application/pdf" || !strings.HasPrefix(a.Body.String(), "%PDF") {
			t.Errorf("%s is %s", path, a.Header().Get("Content-Type"))
		}
	}
	if a := x.get("/batches/B1/bench.pdf?paper=a5"); a.Code < 400 || a.Code >= 500 {
		t.Errorf("paper a5: status %d", a.Code)
	}
}

func TestAFoundRecipeIsAudited(t *testing.T) {
	x := newSite(t, Options{})
	page := x.post("/supplies/found", url.Values{"text": {"50 g brown rice\n50 g water\n60 % moisture\nthe best"}}).status(http.StatusOK).doc()
	page.want("the verdict", tag("p"), class("say"), says("60 % moisture is not met"))
	page.want("what was not read", tag("li"), says("the best"))
	x.post("/supplies/found", url.Values{"text": {"a pinch of salt"}}).status(http.StatusUnprocessableEntity).doc().want("what was typed", tag("textarea"), says("a pinch of salt"))
	x.post("/supplies/found", url.Values{"text": {"2 cups moon grain"}}).status(http.StatusOK).doc().want("what is asked first", tag("a"), with("href", "/ingredients/moon%20grain"))
	x.get("/ingredients/moon%20grain").status(http.StatusOK)
	x.post("/ingredients/moon%20grain", url.Values{"cup": {"1 tbsp = 10 g"}}).to("/ingredients/moon%20grain")
	x.post("/supplies/found", url.Values{"text": {"2 cups moon grain"}}).status(http.StatusOK).doc().want("grams", tag("tr"), says("320.0"))
}

func TestALadderIsPlanned(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	page := x.get("/recipes/millet%20cake/ladder?step=broth&from=40+mL&to=60+mL&by=10+mL").status(http.StatusOK).doc()
	page.want("a step", tag("tr"), says("50 mL"))
	x.get("/recipes/millet%20cake/ladder?step=broth&from=40+mL&to=60+mL&by=7+mL").status(http.StatusUnprocessableEntity)
	x.post("/recipes/millet%20cake/ladder", url.Values{"step": {"broth"}, "from": {"40 mL"}, "to": {"60 mL"}, "by": {"10 mL"}, "jars": {"2"}, "culture": {"LC-3"}, "container": {"pint jar"}}).to("/batches/B1")
	v := must[app.BatchView](t)(x.farm.BatchView(context.Background(), "B1", 0))
	if len(v.Jars) != 7 {
		t.Errorf("the batch has %d jars, want 6 and a blank", len(v.Jars))
	}
}

// A recipe with a cup that nobody weighed asks for it in the form, keeps what
// was typed, and is kept with the answer.
func TestARecipeAsks(t *testing.T) {
	x := newSite(t, Options{})
	typed := url.Values{
		"name": {"moon"}, "mixes": {"2"}, "lines": {"4"}, "mix1": {"dry"}, "fill1": {"100 g"}, "ing1.1": {"moon grain"}, "amt1.1": {"2 cups"},
		"species": {"Pleurotus ostreatus"}, "ph_before": {"6,5"}, "route": {"block"},
	}
	page := x.post("/supplies/recipe", typed).status(http.StatusUnprocessableEntity).doc()
	page.want("the question", tag("label"), says("A level cup of moon grain weighs"))
	page.want("what was typed", tag("input"), with("value", "moon grain"))
	typed.Set("asked", "moon grain")
	typed.Set("cup1", "120 g")
	typed.Del("act")
	x.post("/supplies/recipe", typed).to("/recipes/moon")
	kept := x.get("/recipes/moon").status(http.StatusOK).doc()
	kept.want("ranges of the species", tag("dd"), says("60 to 65 %"))
	kept.want("pH", tag("dd"), says("6.5 before the cook"))
	typed.Set("ph_before", "15")
	typed.Del("act")
	x.post("/supplies/recipe", typed).status(http.StatusUnprocessableEntity).doc().want("what is wrong with the pH", has("aria-invalid"), with("name", "ph_before"))
}

// Each fault of a recipe is said at the field that it was typed into, and all
// that was typed is still there.
func TestAFaultOfARecipeIsAtItsField(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	for _, c := range []struct{ field, typed, says string }{
		{"amt1.3", "-5 g", "below 0"},
		{"amt1.3", "0 g", "above 0"},
		{"amt1.3", "NaN", "number"},
		{"amt1.3", "1000000 kg", "100000 kg"},
		{"amt1.3", "a pinch", "pinch"},
		{"amt1.3", "1.024,5 g", "1024.5 g"},
		{"amt1.3", "130 %", "whole mix"},
		{"amt1.3", "", "no amount"},
		{"amt2.2", "2", "g, mL"},
		{"ing2.2", "dry", "holds itself"},
		{"ing2.2", "", "no name"},
		{"upto2", "a bucket", "bucket"},
		{"fill1", "lots", "lots"},
		{"fill2", "", "how much"},
		{"mix2", "dry", "name of its own"},
		{"ph_after", "15", "pH"},
		{"soak_drained", "", "two weighings"},
	} {
		typed := url.Values{
			"name": {"cake"}, "mixes": {"2"}, "lines": {"4"}, "note": {"kept"},
			"mix1": {"dry"}, "fill1": {"100 g"}, "ing1.1": {"brown rice"}, "amt1.1": {"90 g"}, "ing1.3": {"gypsum"}, "amt1.3": {"2 g"},
			"mix2": {"broth"}, "fill2": {"60 mL"}, "upto2": {"1 L"}, "ing2.2": {"sugar"}, "amt2.2": {"20 g"}, "ph_before": {"6.5"},
		}
		if c.field == "ing2.2" && c.typed == "dry" { // a ring of two mixes
			typed.Set("ing1.3", "broth")
		}
		if c.field == "soak_drained" {
			typed.Set("soak_dry", "1 kg")
		}
		typed.Set(c.field, c.typed)
		a := x.send("/supplies/recipe", "/supplies/recipe", typed)
		a.mended(c.field, c.typed, c.says)
		d := a.doc()
		for name, values := range typed {
			if name == "note" || values[0] == "" {
				continue
			}
			if got := d.all(tag("input"), with("name", name), with("value", values[0])); len(got) == 0 {
				t.Errorf("%s %q: what was typed into %s is lost", c.field, c.typed, name)
			}
		}
	}
	x.get("/recipes/brown%20rice%20cake?container=bucket&jars=5").mended("container", "", "No container")
	x.get("/recipes/brown%20rice%20cake?target=130+%25").mended("target", "130 %", "130")
	x.get("/recipes/brown%20rice%20cake?jars=0").mended("jars", "0", "whole number")
}
