package web

import (
	"context"
	"log/slog"
	"net"
	"net/http"
	"os"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// TestLook serves a small invented farm at PINSET_LOOK, for people who want
// to look at the pages while they change them. It ends with the file that
// PINSET_LOOK_UNTIL names.
func TestLook(t *testing.T) {
	addr := os.Getenv("PINSET_LOOK")
	if addr == "" {
		t.Skip("PINSET_LOOK is not set")
	}
	x := newSite(t, Options{Log: slog.Default()})
	x.stock()
	ctx := context.Background()
	x.grown(x.batch(12))
	second := plan("depth of cake", 12)
	second.Shelves = []app.PlanShelf{{Name: "window", Places: 12}, {Name: "cellar", Places: 16}}
	k := must[app.Kept](t)(x.farm.KeepPlan(ctx, app.Act{ID: app.NewActID()}, second))
	x.cooked(k)
	in := app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL", Except: "5"}
	must[app.InoculateReport](t)(x.farm.Inoculate(ctx, app.Act{ID: app.NewActID()}, in))
	x.clock.add(20 * 24 * time.Hour)
	for stage, jars := range map[string]string{"growth": "1-4", "cover": "6-10", "light": "11-13", "colour": "14,15", "pins": "16-18", "ready": "19,20"} {
		if _, err := x.farm.See(ctx, app.Act{ID: app.NewActID(), By: "MO"}, app.SeeInput{Jars: k.Batch.String() + "·" + jars, Stage: stage}); err != nil {
			t.Log(err)
		}
	}
	plain := app.PlanInput{
		Name: "stock", Recipe: "millet cake", Culture: "LC-3", Container: "pint jar", Jars: 13, BlanksPerCook: 1,
		Cooks: []app.PlanCook{{Places: []int{7, 7}, Hold: "90 min", Gauge: "15 psi", Cooker: "tall pot"}},
	}
	p := must[app.Kept](t)(x.farm.KeepPlan(ctx, app.Act{ID: app.NewActID()}, plain))
	x.mark(p.Cooks[0].String(), lab.Reached)
	x.clock.add(33 * time.Minute)
	x.mark(p.Cooks[0].String(), lab.Broken)
	x.clock.add(9 * time.Minute)
	x.mark(p.Cooks[0].String(), lab.Back)
	x.clock.add(41 * time.Minute)
	l, err := net.Listen("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	srv := NewServer(addr, x.handler)
	go func() {
		for until := os.Getenv("PINSET_LOOK_UNTIL"); ; time.Sleep(time.Second) {
			if _, err := os.Stat(until); err == nil {
				_ = srv.Close() // the test ends with it
				return
			}
		}
	}()
	if err := srv.Serve(l); err != http.ErrServerClosed {
		t.Fatal(err)
	}
}
