package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// Two things are crossed on the page: the arms are their combinations, what sits on
// the cook is counted by cooks, and the kept trial has its factors.
func TestACrossingIsDraftedAndKept(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	const form = "/plan/trial?cross=2"
	v := url.Values{
		"name": {"grain by hold"}, "factor1": {"grain"}, "factor1_is": {"recipe"}, "factor1_on": {"jar"}, "factor1_levels": {"brown rice cake, millet cake"},
		"factor2": {"hold"}, "factor2_is": {"treatment"}, "factor2_on": {"cook"}, "factor2_levels": {"60 min, 90"}, "over": {"person: AB, CD"},
		"culture": {"LC-3"}, "container": {"pint jar"}, "jars": {"4"}, "blanks": {"0"}, "cooks": {"4"}, "places": {"4"},
	}
	body := x.send(form, "/plan/draft", v).status(http.StatusOK).Body.String()
	for _, want := range []string{"millet cake, 90 min", "the cook is the unit", "Efficiency of the layout", "Person AB"} {
		if !strings.Contains(body, want) {
			t.Errorf("the draft does not say %q", want)
		}
	}
	v.Set("factor1_levels", "millet cake")
	x.send(form, "/plan/draft", v).mended("factor1_levels", "millet cake", "Grain has 1 level")
	v.Set("factor1_levels", "brown rice cake, millet cake")
	v.Set("over", "AB, CD")
	x.send(form, "/plan/draft", v).mended("over", "AB, CD", "names nothing to spread over")
	v.Set("over", "person: AB, CD")
	x.send(form, "/plan/keep", v).status(http.StatusSeeOther)
	kept := must[[]string](t)(func() ([]string, error) {
		view, err := x.farm.TrialView(context.Background(), "grain by hold")
		var names []string
		for _, f := range view.Trial.Details.Factors {
			names = append(names, f.Name+" on "+string(f.On))
		}
		return names, err
	}())
	if strings.Join(kept, ", ") != "grain on jar, hold on cook" {
		t.Errorf("kept factors %v", kept)
	}
}
