package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// filterBag is a made-up bag of sawdust.
var filterBag = app.NewContainer{Name: "filter bag", Kind: "bag", Volume: "4 L", Bore: "130 mm", Height: "320 mm"}

func find1(list []figure.Caution, code string) figure.Caution {
	for _, c := range list {
		if c.Code == code {
			return c
		}
	}
	return figure.Caution{}
}

// TestBagsOnEachOther: bags on layers one above the other heat as one that is
// as high, unless a rack parts them or the grower says that each has its own;
// a stack higher than the model takes is a stop sign, and no fault.
func TestBagsOnEachOther(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.supplies()
		must(b.AddContainer(b.ctx, filterBag))(b)
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		put := func(cook string, layer, stacked int, fill string) {
			t.Helper()
			must(b.AddCookItem(b.ctx, app.Act{}, cook, app.NewItem{
				Name: "bags of sawdust", Count: 2, Kind: "fill", Container: "filter bag", Fill: fill, Moisture: "60%", Layer: layer, Stacked: stacked,
			}))(b)
		}
		cook := func(cooker string) (name string) {
			t.Helper()
			c := must(b.AddCook(b.ctx, app.NewCook{Cooker: cooker, Hold: "150 min", Gauge: "15 psi"}))(b)
			return c.String()
		}
		advice := func(name string) app.CookAdvice {
			t.Helper()
			return must(b.CookAdvice(b.ctx, name, app.AdviceOptions{}))(b)
		}

		name := cook("")
		put(name, 1, 0, "100 mm")
		flat := advice(name)
		if c := find1(flat.Cautions, "stacked"); c.Code != "" {
			t.Errorf("one layer of bags: %+v", c)
		}
		put(name, 2, 0, "100 mm")
		two := advice(name)
		c := find1(two.Cautions, "stacked")
		if c.Weight != figure.Stop || !strings.Contains(c.Text, "2 of filter bag, filled to 100 mm") || !strings.Contains(c.Text, "one of 200 mm") || !strings.Contains(c.Text, "rack") {
			t.Errorf("two layers of bags: %+v", c)
		}
		// A bag of twice the height has earned far less by the end of the same hold.
		if a, z := flat.Hold.Result.RuleCoreF0Min.Best, two.Hold.Result.RuleCoreF0Min.Best; !(*z < *a/2) {
			t.Errorf("stacked bags earn %g min of F0 in the core, bags that lie alone %g", *z, *a)
		}

		for _, plate := range []struct {
			thick  string
			parted bool
		}{{"3 mm", false}, {"10 mm", true}} {
			_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tall", Divider: plate.thick})
			b.ok(err)
			name = cook("tall")
			put(name, 1, 0, "100 mm")
			put(name, 2, 0, "100 mm")
			if got := find1(advice(name).Cautions, "stacked").Code == ""; got != plate.parted {
				t.Errorf("a plate of %s parts the bags: %v", plate.thick, got)
			}
		}

		name = cook("")
		put(name, 1, 1, "100 mm")
		put(name, 2, 1, "100 mm")
		if c := find1(advice(name).Cautions, "stacked"); c.Code != "" {
			t.Errorf("each on a rack, as said: %+v", c)
		}
		name = cook("")
		put(name, 1, 4, "180 mm")
		if c := find1(advice(name).Cautions, "stacked"); c.Weight != figure.Stop || !strings.Contains(c.Text, "720 mm, whose middle would not get hot in a day") {
			t.Errorf("720 mm of bags: %+v", c)
		}

		for _, bad := range []app.NewItem{
			{Name: "bottles", Count: 2, Kind: "liquid", Stacked: 2},
			{Name: "bags", Count: 2, Kind: "fill", Stacked: 11},
		} {
			_, err := b.AddCookItem(b.ctx, app.Act{}, name, bad)
			if p, ok := lab.AsProblem(err); !ok || p.Field != "stacked" || p.Mend == "" {
				t.Errorf("%+v gives %v", bad, err)
			}
		}
	})
}

// TestTooManyInALayer: more than the grower counted for a layer touch.
func TestTooManyInALayer(t *testing.T) {
	onSQLite(t, func(b *bench) {
		must(b.AddContainer(b.ctx, filterBag))(b)
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tall", Holds: "filter bag 3 x 1"})
		b.ok(err)
		must(b.AddCook(b.ctx, app.NewCook{Cooker: "tall", Hold: "150 min", Gauge: "15 psi"}))(b)
		for i, count := range []int{3, 2} {
			must(b.AddCookItem(b.ctx, app.Act{}, "1", app.NewItem{Name: "bags", Count: count, Kind: "fill", Container: "filter bag", Fill: "100 mm", Moisture: "60%", Layer: 1}))(b)
			c := find1(must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b).Cautions, "crowded")
			if i == 0 && c.Code != "" {
				t.Errorf("as many as were counted: %+v", c)
			}
			if i == 1 && (c.Weight != figure.Stop || !strings.Contains(c.Text, "5 of filter bag stand in layer 1") || !strings.Contains(c.Text, "take 2 out")) {
				t.Errorf("two too many: %+v", c)
			}
		}
	})
}

// TestDangersWhileItRuns: a gauge above the nameplate and water that is not
// enough for the hold stop the cook while there is time.
func TestDangersWhileItRuns(t *testing.T) {
	onSQLite(t, func(b *bench) {
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tall", Rated: "15 psi", Loss: "240 mL"})
		b.ok(err)
		must(b.AddCook(b.ctx, app.NewCook{Cooker: "tall", Hold: "90 min", Gauge: "15 psi"}))(b)
		cautions := func() []figure.Caution { return must(b.CookRun(b.ctx, "1"))(b).Cautions }
		b.step(lab.WaterIn, "0.5 L")
		b.step(lab.HeatOn, "")
		b.mark(lab.Reached)
		b.step(lab.GaugeAt, "15")
		if c := find1(cautions(), "above_rating"); c.Code != "" {
			t.Errorf("at the rating: %+v", c)
		}
		if c := find1(cautions(), "not_enough_water"); c.Weight != figure.Stop || !strings.Contains(c.Text, "0.50 L were poured") || !strings.Contains(c.Text, "Never open or refill it under pressure") {
			t.Errorf("half a litre for 90 min: %+v", c)
		}
		b.step(lab.GaugeAt, "18 psi")
		if c := find1(cautions(), "above_rating"); c.Weight != figure.Stop || !strings.Contains(c.Text, "18 psi") || !strings.Contains(c.Text, "15 psi") || !strings.Contains(c.Text, "heat off") {
			t.Errorf("at 18 psi: %+v", c)
		}
		b.mark(lab.HeatOff)
		if got := cautions(); len(got) != 0 {
			t.Errorf("after heat off: %v", got)
		}
	})
}

// TestStepsThatWerePassedOver are not asked for again.
func TestStepsThatWerePassedOver(t *testing.T) {
	onSQLite(t, func(b *bench) {
		must(b.AddCook(b.ctx, app.NewCook{Hold: "90 min", Gauge: "15 psi"}))(b)
		next := func(want lab.Event) {
			t.Helper()
			if got := must(b.CookRun(b.ctx, "1"))(b).NextStep; got != want {
				t.Errorf("the next step is %q, want %q", got, want)
			}
		}
		next(lab.WaterIn)
		b.step(lab.HeatOn, "") // no water was logged
		next(lab.Venting)
		b.step(lab.WeightOn, "")
		next("")
		b.mark(lab.Reached)
		next("")
		b.mark(lab.HeatOff)
		next(lab.Zero)
	})
}

// TestReadingsForOneTap are about the target, in its unit, and none is above
// the nameplate.
func TestReadingsForOneTap(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "1609 m"}))
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tall", Rated: "15 psi"})
		b.ok(err)
		_, _, err = b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "unmarked"})
		b.ok(err)
		for _, c := range []struct{ cooker, target, want string }{
			{"tall", "15 psi", "13 psi, 14 psi, 15 psi*"},
			{"unmarked", "15 psi", "13 psi, 14 psi, 15 psi*, 16 psi"},
			{"unmarked", "100 kPa", "90 kPa, 95 kPa, 100 kPa*, 105 kPa"},
			{"tall", "100 kPa", "90 kPa, 95 kPa, 100 kPa*"}, // 15 psi are 103.4 kPa
			{"unmarked", "1 bar", "0.9 bar, 0.95 bar, 1 bar*, 1.05 bar"},
			{"unmarked", "121 °C", "119 °C, 120 °C, 121 °C*, 122 °C"},
			{"unmarked", "", ""},
		} {
			cook := must(b.AddCook(b.ctx, app.NewCook{Cooker: c.cooker, Hold: "90 min", Gauge: c.target}))(b)
			var got []string
			for _, n := range must(b.CookRun(b.ctx, cook.String()))(b).Near {
				if n.Target {
					n.Says += "*"
				}
				got = append(got, n.Says)
			}
			if s := strings.Join(got, ", "); s != c.want {
				t.Errorf("%q in %q offers %s, want %s", c.target, c.cooker, s, c.want)
			}
		}
	})
}
