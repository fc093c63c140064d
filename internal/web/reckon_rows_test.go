package web

import (
	"net/http"
	"net/url"
	"testing"
)

func TestRowsAreTypedInCells(t *testing.T) {
	x := newSite(t, Options{})
	v := url.Values{
		"hold_min": {"60"}, "marks[].at": {"18:10", "", "18:43", "18:52", "20:00"},
		"marks[].event": {"reached", "", "lost", "back", "heat_off"},
	}
	d := x.get("/reckoner/held?" + v.Encode()).status(http.StatusOK).doc()
	d.want("the stretch from rows, the blank one left out", tag("dd"), says("68 min"))
	d.want("what was typed", tag("input"), with("name", "marks[].at"), with("value", "18:52"))
	d.want("what was chosen", tag("option"), with("value", "heat_off"), has("selected"))

	v.Set("less", "marks.1")
	d = x.get("/reckoner/held?" + v.Encode()).status(http.StatusOK).doc()
	if n := len(d.all(with("name", "marks[].at"))); n != 4 {
		t.Errorf("%d rows after one of 5 was taken out, want 4", n)
	}
	if n := len(d.all(tag("dd"))); n != 0 {
		t.Error("a row is taken out and the hold reckoned at once")
	}
	v.Del("less")
	v.Set("more", "marks")
	if n := len(x.get("/reckoner/held?" + v.Encode()).doc().all(with("name", "marks[].at"))); n != 6 {
		t.Errorf("%d rows after one was added to 5, want 6", n)
	}
	v.Del("more")
	for _, less := range []string{"marks.99", "marks.-1", "marks.x", ".", "rows.0"} {
		v.Set("less", less)
		x.get("/reckoner/held?" + v.Encode()).status(http.StatusOK)
	}
}

func TestColumnsAreShownWhenWanted(t *testing.T) {
	x := newSite(t, Options{})
	d := x.get("/reckoner/compare").doc()
	if len(d.all(with("name", "rows[].cook"))) != 0 {
		t.Error("a column that may be left out is shown unasked")
	}
	d.want("a tick for it", tag("input"), with("name", "rows[]"), with("value", "cook"))
	v := url.Values{"rows[].jar": {"1"}, "rows[]": {"cook"}, "more": {"rows"}, "arms_differ_in": {"recipe", "culture"}}
	d = x.get("/reckoner/compare?" + v.Encode()).doc()
	if n := len(d.all(with("name", "rows[].cook"))); n != 2 {
		t.Errorf("%d cells for the cook in 2 rows", n)
	}
	if n := len(d.all(with("name", "arms_differ_in"), has("checked"))); n != 2 {
		t.Errorf("%d words ticked, want 2", n)
	}
}

func TestARecipeIsTypedInLines(t *testing.T) {
	x := newSite(t, Options{})
	v := url.Values{
		"recipe.mixes[].name": {"grain", "broth"}, "recipe.mixes[].lines": {"rye berries, 100 g", "water, 60 ml\nmalt extract, 1 g"},
		"recipe.fill": {"grain, 100 g\nbroth, 61 g"}, "jars": {"4"},
	}
	d := x.get("/reckoner/substrate?" + v.Encode()).status(http.StatusOK).doc()
	d.want("the jar's mass", tag("dd"), says("161 g"))
	d.want("how lines are written", class("hint"), says("ingredient, amount"))
	d.want("the batch in grams", tag("dd"), says("400 g"))
	if n := len(d.all(tag("dd"), says("not known"))); n != 0 {
		t.Errorf("%d figures that are not known stand in lines of their own", n)
	}
	d.want("what is not known, in one line", tag("dt"), says("Not known"))
	v.Set("recipe.fill", "grain")
	x.get("/reckoner/substrate?"+v.Encode()).mended("recipe.fill", "grain", "comma")
	v.Set("recipe.fill", "")
	v["recipe.mixes[].lines"] = []string{"rye berries", "water, 60 ml"}
	x.get("/reckoner/substrate?"+v.Encode()).mended("recipe.mixes", "", "Row 1: lines: a line does not hold 2 things")
}
