package web

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"testing"
	"time"

	"pinset/internal/app"
)

// TestOneHoldOnEveryPage: at sea level, at 1500 m and at 3000 m the advised
// hold is the same whole minutes, rounded up, on the page of the cook, on its
// list for the paper and in the alarm; and without lag it is the rule over
// the worth of a minute, 10^((T_pot - T_rule)/10).
func TestOneHoldOnEveryPage(t *testing.T) {
	for _, altitude := range []string{"0 m", "1500 m", "3000 m"} {
		x := kitchen(t)
		ctx := context.Background()
		if err := x.farm.SaveSettings(ctx, app.NewSettings{Altitude: altitude}); err != nil {
			t.Fatal(err)
		}
		x.post("/cooks", url.Values{"cooker": {"tall"}, "hold": {"90 min"}, "gauge": {"15 psi"}}).to("/cooks/3")
		a, err := x.farm.CookAdvice(ctx, "3", app.AdviceOptions{})
		if err != nil {
			t.Fatal(err)
		}
		r := a.Hold.Result
		if byHand := 90 / math.Pow(10, (r.PotC-r.RuleC)/10); math.Abs(byHand-*a.NoLagMin) > 1e-9*byHand {
			t.Errorf("%s: without lag %g min, by hand %g", altitude, *a.NoLagMin, byHand)
		}
		minutes := math.Ceil(*a.AdvisedMin - 1.0/60)
		want := fmt.Sprintf("%.0f min", minutes)
		d := x.get("/cooks/3").status(http.StatusOK).doc()
		d.want("the hold on the page at "+altitude, tag("p"), class("clock"), says(want+" of hold"))
		if altitude != "0 m" {
			x.get("/cooks/3/list").doc().want("the hold on the list at "+altitude, tag("li"), says("Hold on to "+want))
		}
		reached := x.clock.Now()
		x.post("/cooks/3/mark", url.Values{"event": {"reached"}}).to("/cooks/3")
		found := false
		for _, al := range x.alarms() {
			found = found || al.Cook == 3 && al.At.Sub(reached).Round(time.Second) == time.Duration(minutes)*time.Minute
		}
		if !found {
			t.Errorf("%s: no alarm %s after %v: %+v", altitude, want, reached, x.alarms())
		}
	}
}
