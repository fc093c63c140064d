package app_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/calc/steam"
	"pinset/internal/lab"
)

// logged is a chamber read every minute from a moment on; a NaN is a seam, and
// takes no time.
func logged(from time.Time, temps ...float64) []lab.Reading {
	var out []lab.Reading
	seam := false
	for _, c := range temps {
		if math.IsNaN(c) {
			seam = true
			continue
		}
		out = append(out, lab.Reading{At: from.Add(time.Duration(len(out)) * time.Minute), Celsius: c, Seam: seam})
		seam = false
	}
	return out
}

func rep(n int, c float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = c
	}
	return out
}

// TestRecordsLongestStretch: a seam parts a record in its longest stretch and
// in its lethality, and what the chamber shows beside the marks is told.
func TestRecordsLongestStretch(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		must(b.KeepPlan(b.ctx, app.Act{}, plan("seams")))(b)
		b.mark(lab.Reached)
		from := b.clock.Now()
		b.clock.minutes(65)
		b.mark(lab.HeatOff)
		keep := func(file string, r []lab.Reading) lab.CookRecord {
			return must(b.AddCookRecord(b.ctx, app.Act{}, "1", app.NewCookRecord{Place: "chamber", File: file, Original: file, Readings: r}))(b)
		}
		whole := append(rep(31, 121.1), rep(31, 121.1)...)
		parted := append(append(rep(31, 121.1), math.NaN()), rep(31, 121.1)...)
		keep("whole.csv", logged(from, whole...))
		keep("parted.csv", logged(from, parted...))
		core := must(b.CookCore(b.ctx, "1", 0))(b)
		for i, want := range []struct {
			f0      string
			longest float64
		}{{"61", 61}, {"60", 30}} {
			r := core.Records[i]
			if r.F0 != want.f0 || r.LongestMin == nil || *r.LongestMin != want.longest {
				t.Errorf("%s: F0 %s and %v, want %s and %g min", r.File, r.F0, r.Longest(), want.f0, want.longest)
			}
		}
		// Steam at 15 psi and 420 m less half a kelvin, as package steam has it.
		ambient := must(steam.AmbientAt(ptr(420), nil))(b)
		if steamC := must(steam.GaugeTemp(ambient, 15*steam.PascalPerPsi))(b); math.Abs(*core.Records[0].LimitC-(float64(steamC)-0.5)) > 1e-9 {
			t.Errorf("the limit is %g °C, steam has %g", *core.Records[0].LimitC, float64(steamC))
		}
		if n := strings.Count(codes(core.Cautions), "record_shorter"); n != 1 {
			t.Errorf("%d records are told to be shorter than the rule: %s", n, codes(core.Cautions))
		}
		_, err := b.AddCookRecord(b.ctx, app.Act{}, "1", app.NewCookRecord{Place: "chamber", File: "again.csv", Original: "x", Readings: logged(from, parted...)})
		if !lab.IsKind(err, lab.Conflict) {
			t.Errorf("the same readings again give %v", err)
		}
		keep("other.csv", logged(from.Add(-48*time.Hour), whole...))
		core = must(b.CookCore(b.ctx, "1", 0))(b)
		has(t, core.Cautions, "record_elsewhere")
		for _, c := range core.Cautions {
			if c.Code == "record_elsewhere" && !strings.Contains(c.Text, "other.csv begins 2880 min before") {
				t.Errorf("it says %q", c.Text)
			}
		}
	})
}

func TestLoggersAreRemembered(t *testing.T) {
	onBoth(t, func(b *bench) {
		first := true
		if err := b.KeepLogger(b.ctx, "time;temp", app.LoggerTold{}); err != nil {
			t.Fatal(err)
		}
		if all := must(b.Loggers(b.ctx))(b); len(all) != 0 {
			t.Errorf("of nothing said %v is remembered", all)
		}
		for _, said := range []app.LoggerTold{
			{Unit: "F", Series: map[string]string{"core": "jar"}},
			{DayFirst: &first, Series: map[string]string{"chamber": "pot"}},
			{Unit: "C", Columns: "time, temp"},
		} {
			if err := b.KeepLogger(b.ctx, "time;temp", said); err != nil {
				t.Fatal(err)
			}
		}
		all := must(b.Loggers(b.ctx))(b)
		if len(all) != 1 || strings.Join(all[0].Says(), "; ") != "°C; 3/4/2026 is 3 April; columns time, temp; chamber: pot; core: jar" {
			t.Fatalf("remembered is %+v", all)
		}
		if got := app.Recall(all)("time;temp"); got.Unit != "C" || app.Recall(all)("other").Unit != "" {
			t.Errorf("recalled is %+v", got)
		}
		if err := b.ForgetLogger(b.ctx, "Time;temp"); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("another heading gives %v", err)
		}
		if err := b.ForgetLogger(b.ctx, "time;temp"); err != nil {
			t.Fatal(err)
		}
		if all := must(b.Loggers(b.ctx))(b); len(all) != 0 {
			t.Errorf("after forgetting: %v", all)
		}
	})
}
