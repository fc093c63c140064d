package web

import (
	"net/http"
	"net/url"
	"testing"

	"pinset/internal/app"
)

// The tour stands on the first page, leads from stop to stop, and goes away
// for good when it is put away.
func TestTour(t *testing.T) {
	x := newSite(t, Options{})
	x.get("/").status(http.StatusOK).doc().none("a tour on a farm that has none", class("tour"))
	steps := []app.TourStep{{Title: "The shelf", Says: "Look <here>.", Kind: "cook", Name: "1"}, {Title: "The end", Says: "Done.", Kind: "", Name: ""}}
	if err := x.farm.SetTour(t.Context(), steps); err != nil {
		t.Fatal(err)
	}
	x.get("/").status(http.StatusOK).doc().want("the way to the first stop", tag("a"), with("href", "/cooks/1?tour=1"))
	d := x.get("/plan?tour=1").status(http.StatusOK).doc()
	d.want("what to look at", tag("p"), says("Look <here>."))
	d.want("the way on", tag("a"), with("href", "/?tour=2"))
	x.get("/plan?tour=9").status(http.StatusOK).doc().none("a stop that is not there", class("tour"))
	x.post("/tour", url.Values{}).to("/")
	x.get("/").status(http.StatusOK).doc().none("the tour that was put away", class("tour"))
}
