package web

import (
	"context"
	"fmt"
	"net/http"
	"testing"

	"pinset/internal/app"
)

// TestFouledPage looks for the suspects first, the counts, the numbers beside
// each bar, and the links that lead there.
func TestFouledPage(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.get("/fouled").status(http.StatusOK).doc().want("a sentence", class("say"), says("inoculated yet"))
	k := x.batch(7)
	x.cooked(k)
	ctx := context.Background()
	batch := k.Batch.String()
	if _, err := x.farm.Inoculate(ctx, app.Act{By: "IV"}, app.InoculateInput{Batch: batch}); err != nil {
		t.Fatal(err)
	}
	v, err := x.farm.BatchView(ctx, batch, 0)
	if err != nil {
		t.Fatal(err)
	}
	bad := 0
	for _, j := range v.Jars {
		if j.Blank || j.Arm != "millet" || bad == 6 {
			continue
		}
		bad++
		if _, err := x.farm.See(ctx, app.Act{}, app.SeeInput{Jars: fmt.Sprintf("%s·%d", batch, j.Number), Fate: "lost", Reason: "fouled"}); err != nil {
			t.Fatal(err)
		}
	}
	for _, path := range []string{"/fouled", "/fouled?batch=" + batch} {
		d := x.get(path).status(http.StatusOK).doc()
		d.wellFormed("Who fouled it?")
		d.want("the suspect", class("say"), says(fmt.Sprintf("%d of %d jars", bad, bad+1)), says("fouled"))
		d.want("the ranking caution", class("caution"), says("for ranking only"))
		d.want("numbers beside the bar", tag("td"), class("n"), says(fmt.Sprintf("%d of %d", bad, bad+1)))
		d.want("jars that are touched", tag("a"), with("href", "/batches/"+batch))
	}
	x.get("/trials").status(http.StatusOK).doc().want("a link from trials", tag("a"), with("href", "/fouled"))
	x.get("/batches/"+batch).status(http.StatusOK).doc().want("a link from a batch with losses", tag("a"), with("href", "/fouled?batch="+batch))
	x.get("/fouled?batch=B77").status(http.StatusNotFound)
	x.get("/fouled?last=-4").status(http.StatusUnprocessableEntity)
}
