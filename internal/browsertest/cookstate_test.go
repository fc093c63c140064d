package browsertest

import (
	"context"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// TestTheCooksPageAsItGoes looks at the page of a cook in each of its states,
// as TestEveryPage does at what the demo farm has.
func TestTheCooksPageAsItGoes(t *testing.T) {
	t.Parallel()
	x := potFarm(t)
	b := newTabIn(t, houseBrowser, x, phone)
	ctx := context.Background()
	step := func(e lab.Event, typed string) {
		t.Helper()
		must[lab.DeedID](t)(x.farm.StepCook(ctx, act(), "1", e, typed, ""))
	}
	mark := func(e lab.Event, minutes time.Duration) {
		t.Helper()
		must[app.CookView](t)(x.farm.MarkCook(ctx, act(), "1", e, ""))
		x.clock.add(minutes * time.Minute)
	}
	look := func(state string) {
		t.Helper()
		for _, s := range []screen{phone, desk} {
			b.show(s)
			b.open("/cooks/1")
			b.look("cook-state-"+state+"-"+s.name, "/cooks/1")
		}
	}
	for layer := 2; layer <= 3; layer++ {
		must[lab.CookItem](t)(x.farm.AddCookItem(ctx, act(), "1", app.NewItem{
			Name: "bags of sawdust", Count: 4, Kind: "fill", Container: "filter bag", Fill: "110 mm", Mass: "900 g", Moisture: "60%", Layer: layer, Mixed: true,
		}))
	}
	step(lab.WaterIn, "0.4 L")
	look("before") // bags on each other, too many in a layer, too little water
	step(lab.HeatOn, "")
	x.clock.add(50 * time.Minute)
	look("late") // the first alarm rings
	mark(lab.Reached, 40)
	step(lab.GaugeAt, "17 psi")
	look("hold") // above the rating
	mark(lab.Broken, 5)
	look("lost")
	mark(lab.Back, 95)
	mark(lab.HeatOff, 40)
	step(lab.Zero, "")
	look("wait")
	mark(lab.Opened, 1)
	look("record")
}

// TestReckonedCooks looks at what the calculators of a cook come to.
func TestReckonedCooks(t *testing.T) {
	t.Parallel()
	b := newTab(t, inDemo(t), phone)
	for _, c := range []struct{ name, query, says string }{
		{"steam", "altitude_m=1609&gauge_psi=15&air_fraction=0.1&gauge_reads_high_psi=0.5", "It comes to"},
		{"lethality", "times_min=0,10,20,40,60,80&celsius=20,80,110,118,119,90&start_count=1e4&d_min=0.2", "Survivors < 0.01"},
		{"hold", "rule_hold_min=90&rule_gauge_psi=15&gauge_psi=15&altitude_m=1609&container.bore_mm=76&container.fill_mm=60&substrate.moisture_pct=60", "Hold at least"},
		{"held", "hold_min=60&marks=at,event%0A18:10,reached%0A18:43,lost%0A18:52,back%0A20:00,heat_off", "68 min"},
		{"cook", "altitude_m=1609&gauge_psi=15&gauge_doubt_psi=2&come_up_min=20&hold_min=90&cool=natural&container.bore_mm=130&container.fill_mm=110&container.shape=block&container.material=polypropylene&container.stacked=3&substrate.moisture_pct=60", "next to nothing"},
		{"cook", "altitude_m=420&gauge_psi=15&come_up_min=20&hold_min=30&cool=fast&container.bore_mm=86&container.fill_mm=90&mode=liquid", "min of F0"},
		{"water", "burner_w=1500&efficiency=0.7&pot.kg=6&pot.kj_kgk=0.9&pot.diameter_mm=320&pot.height_mm=300&water_l=2&load_kg=5&room_c=20&altitude_m=420&gauge_psi=15&vent_min=10&hold_min=150", "The pot runs dry"},
		{"load", "cookers=name,capacity,layers%0Atall,pint+jar:+7,pint+jar:+2&jars=pint+jar:+20&cycle_min=180&day_min=600", "14 pint jar"},
		{"cool", "readings=at,celsius%0A16:40,95%0A18:40,60&room_c=22&target_c=28", "It comes to"},
	} {
		path := "/reckoner/" + c.name + "?" + c.query
		for _, s := range []screen{phone, desk} {
			b.show(s)
			b.open(path)
			b.says(c.says)
			b.look("reckoned-"+c.name+"-"+c.says+"-"+s.name, path)
		}
	}
}
