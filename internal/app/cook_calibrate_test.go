package app_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/calc/thermal"
	"pinset/internal/lab"
)

// probeRun cooks a planned batch whose core heats as a cake of twice the
// conductivity would, and takes both loggers in.
func (b *bench) probeRun() (jar thermal.CookInput) {
	b.t.Helper()
	b.supplies()
	in := plan("probe")
	in.Cooks[0].Hold, in.Cooks[0].Gauge = "90 min", "15 psi"
	must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
	b.step(lab.FillAt, "60 mm")
	b.step(lab.HeatOn, "")
	began := b.clock.Now()
	before := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
	if before.Vessel == nil || before.Vessel.FillMM != 60 || before.Fitted != "" {
		b.t.Fatalf("vessel %+v, fitted %q; missing %v", before.Vessel, before.Fitted, before.Missing)
	}
	twice, head := 2.0, 50.0
	jar = thermal.CookInput{
		AltitudeM: ptr(420), GaugePsi: 15, ComeUpMin: 20, HoldMin: 90, Cool: "natural",
		Container: thermal.Container{BoreMM: 80, FillMM: 60, HeadspaceMM: &head}, Substrate: thermal.Substrate{MoisturePct: ptr(60), Multiplier: &twice},
	}
	truth, err := thermal.Cook(jar)
	b.ok(err)
	core, chamber := app.NewCookRecord{Place: "core", File: "core.csv"}, app.NewCookRecord{Place: "chamber", File: "pot.csv"}
	for _, m := range truth.Result.Trace {
		if m.Min > 110 {
			break
		}
		at := began.Add(time.Duration(m.Min * float64(time.Minute)))
		core.Readings = append(core.Readings, lab.Reading{At: at, Celsius: m.BestC})
		chamber.Readings = append(chamber.Readings, lab.Reading{At: at, Celsius: m.ChamberC})
	}
	must(b.AddCookRecord(b.ctx, app.Act{}, "1", core))(b)
	must(b.AddCookRecord(b.ctx, app.Act{}, "1", chamber))(b)
	b.clock.minutes(20)
	b.mark(lab.Reached)
	b.clock.minutes(90)
	b.mark(lab.HeatOff)
	return jar
}

// TestFitIsKeptAndCounted: a fit to a probe is kept with container and fill,
// speaks in core and advice from then on, and no more once it is taken back.
func TestFitIsKeptAndCounted(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.probeRun()
		plain := must(b.CookCore(b.ctx, "1", 0))(b)
		cal, cautions, err := b.Calibrate(b.ctx, app.Act{}, "1", app.NewCalibration{Container: "half-litre jar, oats"})
		b.ok(err)
		has(t, cautions, "one_jar")
		// The record was made with twice the conductivity; moisture and the
		// cold spot are not quite those of the jar, so the factor is near 2.
		if f := cal.Fit; f.Factor < 1.5 || f.Factor > 2.6 || f.RMSEC > 2 || f.FillMM != 60 || f.Probe != 30 || f.FHMin == nil || f.Vessel != "half-litre jar" {
			t.Fatalf("the fit is %+v, want about 2 in a half-litre jar filled to 60 mm", cal.Fit)
		}
		other, _, err := b.Calibrate(b.ctx, app.Act{}, "1", app.NewCalibration{Container: "half-litre jar, millet"})
		b.ok(err) // the slowest kind of jar speaks, so both are fitted
		core := must(b.CookCore(b.ctx, "1", 0))(b)
		if core.Result.Core.Best.F0HeatOffMin <= plain.Result.Core.Best.F0HeatOffMin || !strings.Contains(core.Fitted, "half-litre jar") || len(core.Fits) != 2 {
			t.Errorf("with the fit F0 %g, without %g; %q", core.Result.Core.Best.F0HeatOffMin, plain.Result.Core.Best.F0HeatOffMin, core.Fitted)
		}
		advice := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		if !strings.Contains(advice.Fitted, "Your own probe") {
			t.Errorf("the advice says %q of the fit", advice.Fitted)
		}
		deep := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{FillMM: 75}))(b)
		if deep.Fitted != "" {
			t.Errorf("a fit at 60 mm is counted at 75 mm: %q", deep.Fitted)
		}
		if rows := must(b.Calibrations(b.ctx))(b); len(rows) != 2 || rows[0].ID != other.ID || rows[0].CookNumber != 1 {
			t.Errorf("the fits are %+v", rows)
		}
		if _, _, err := b.Calibrate(b.ctx, app.Act{}, "1", app.NewCalibration{Container: "half-litre jar, oats", What: "surface"}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("faces alone can not make a core so quick, and yet: %v", err)
		}
		must(b.Undo(b.ctx, app.Act{}, cal.Deed))(b)
		must(b.Undo(b.ctx, app.Act{}, other.Deed))(b)
		again := must(b.CookCore(b.ctx, "1", 0))(b)
		if again.Fitted != "" || math.Abs(again.Result.Core.Best.F0HeatOffMin-plain.Result.Core.Best.F0HeatOffMin) > 1e-9 {
			t.Errorf("a fit that was taken back is counted: %q", again.Fitted)
		}
	})
}

func TestFitNeedsBothLoggers(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.supplies()
		must(b.KeepPlan(b.ctx, app.Act{}, plan("probe")))(b)
		if _, _, err := b.Calibrate(b.ctx, app.Act{}, "1", app.NewCalibration{Container: "half-litre jar"}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("no logger: %v", err)
		}
		if _, _, err := b.Calibrate(b.ctx, app.Act{}, "1", app.NewCalibration{Container: "bucket"}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("no such jar: %v", err)
		}
	})
}

// TestTargetInCelsius: a steamer without a gauge is aimed at 100 °C, where an
// hour is worth 0.47 min of F0 (10^-2.11 a minute), and it is said.
func TestTargetInCelsius(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "0 m"}))
		b.supplies()
		in := plan("steamed")
		in.Cooks[0].Hold, in.Cooks[0].Gauge = "12 h", "100 °C"
		must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		a := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b)
		// The rule and the cook have one temperature, by way of the pressure and
		// back: that costs the last digits of 720.
		if a.AdvisedMin == nil || math.Abs(*a.AdvisedMin-720) > 1e-9 || math.Abs(*a.NoLagMin-720) > 0.01 {
			t.Fatalf("advised %g min, without lag %g, want the rule of 720", *a.AdvisedMin, *a.NoLagMin)
		}
		has(t, a.Cautions, "near_nothing", "sensor", "below_118")
		b.mark(lab.Reached)
		b.clock.minutes(720)
		b.mark(lab.HeatOff)
		core := must(b.CookCore(b.ctx, "1", 0))(b)
		// 12 h at 100 °C are F0 5.6 without lag (published for atmospheric steam).
		if core.Result == nil || math.Abs(core.Result.ChamberC-100) > 0.01 || core.Result.Core.High.F0HeatOffMin > 5.6 || core.Result.Core.Low.F0HeatOffMin < 4 {
			t.Errorf("the core got %+v at %v", core.Result.Core, core.Result.ChamberC)
		}
		must(b.AddCook(b.ctx, app.NewCook{Hold: "30 min", Gauge: "121 °C"}))(b)
		hot := must(b.CookAdvice(b.ctx, "2", app.AdviceOptions{}))(b)
		has(t, hot.Cautions, "needs_pressure")
		for _, typed := range []string{"250 °C", "60 °C"} {
			_, err := b.AddCook(b.ctx, app.NewCook{Gauge: typed})
			if p, ok := lab.AsProblem(err); !ok || p.Field != "gauge" || typed == "250 °C" && !strings.Contains(p.Mend, "250 °F") {
				t.Errorf("%s gives %v", typed, err)
			}
		}
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "set", Rated: "10 psi"})
		b.ok(err)
		if _, err := b.AddCook(b.ctx, app.NewCook{Cooker: "set", Gauge: "121 °C"}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("121 °C in a pot of 10 psi gives %v", err)
		}
	})
}

// TestCooksTeachTheCooker: water left and times that were logged go before
// what the cooker's entry says.
func TestCooksTeachTheCooker(t *testing.T) {
	onBoth(t, func(b *bench) {
		_, _, err := b.SaveCooker(b.ctx, app.Act{}, app.NewCooker{Name: "tall", Loss: "100 mL", HeatUp: "20 min"})
		b.ok(err)
		must(b.AddCook(b.ctx, app.NewCook{Cooker: "tall", Hold: "90 min", Gauge: "15 psi"}))(b)
		b.step(lab.WaterIn, "3 L")
		b.step(lab.HeatOn, "")
		b.clock.minutes(47)
		b.mark(lab.Reached)
		b.clock.minutes(90)
		b.mark(lab.HeatOff)
		b.step(lab.WaterLeft, "2.4 L") // 600 mL in 1.5 h
		must(b.AddCook(b.ctx, app.NewCook{Cooker: "tall", Hold: "90 min", Gauge: "15 psi"}))(b)
		a := must(b.CookAdvice(b.ctx, "2", app.AdviceOptions{RuleAltitudeM: 420}))(b)
		if want := 1 + 0.4**a.AdvisedMin/60; math.Abs(*a.PourL-want) > 0.002 || *a.HeatUpMin != 47 || !strings.Contains(a.Learned, "400 mL") {
			t.Errorf("pour %g L, want %g; to pressure in %g min; %q", *a.PourL, want, *a.HeatUpMin, a.Learned)
		}
	})
}

// TestStandardKeepsTheAltitudeOfItsCooks: moving the kitchen does not move
// the cooks that were.
func TestStandardKeepsTheAltitudeOfItsCooks(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		must(b.KeepPlan(b.ctx, app.Act{}, plan("here")))(b)
		b.step(lab.FillAt, "62 mm")
		b.mark(lab.Reached)
		b.clock.minutes(90)
		b.mark(lab.HeatOff)
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "2000 m"}))
		rows := must(b.Standard(b.ctx))(b).Rows
		if len(rows) == 0 || rows[0].AltitudeM == nil || *rows[0].AltitudeM != 400 || rows[0].FillMM != 62 || !rows[0].Measured {
			t.Fatalf("the rows are %+v, want 420 m to the nearest 50, filled to 62 mm", rows)
		}
		b.step(lab.Barometer, "845.6 hPa") // ISO 2533: 1500 m
		if rows = must(b.Standard(b.ctx))(b).Rows; *rows[0].AltitudeM != 1500 {
			t.Errorf("with a barometer %g m", *rows[0].AltitudeM)
		}
	})
}

// TestCookWithoutEnd: a cook that nobody ended is asked about, and does not
// run for ever.
func TestCookWithoutEnd(t *testing.T) {
	onBoth(t, func(b *bench) {
		must(b.AddCook(b.ctx, app.NewCook{Hold: "90 min", Gauge: "15 psi"}))(b)
		b.mark(lab.Reached)
		b.clock.days(268)
		v := must(b.CookView(b.ctx, "1"))(b)
		if v.State != lab.Unmarked || !v.Unended || v.MetAt != nil || v.Longest != 0 || !strings.Contains(v.Sentence, "No end was logged") {
			t.Errorf("%s, met at %v, %g min: %s", v.State, v.MetAt, v.Longest, v.Sentence)
		}
		has(t, v.Cautions, "cook_left_open")
		v = must(b.MarkCook(b.ctx, app.Act{}, "1", lab.HeatOff, "2026-03-02 10:35"))(b)
		if v.State != lab.Held || v.Longest != 95 {
			t.Errorf("once told: %s, %g min", v.State, v.Longest)
		}
	})
}

// TestBottles: grain in a bottle is a cake, what runs stirs itself. Both have
// a core, that of the liquid with a wide band and what to do about it.
func TestBottles(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Altitude: "420 m"}))
		b.supplies()
		must(b.AddContainer(b.ctx, bottle))(b)
		in := plan("grain in bottles")
		for i := range in.Arms {
			in.Arms[i].Container = bottle.Name
		}
		must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		if a := must(b.CookAdvice(b.ctx, "1", app.AdviceOptions{}))(b); a.Vessel == nil || a.CoreMin == nil || strings.Contains(codes(a.Cautions), "boil_over") {
			t.Errorf("grain: %+v, %s; missing %v", a.Vessel, codes(a.Cautions), a.Missing)
		}
		must(b.AddCook(b.ctx, app.NewCook{Hold: "45 min", Gauge: "15 psi"}))(b)
		must(b.AddCookItem(b.ctx, app.Act{}, "2", app.NewItem{Name: "broth", Count: 4, Kind: "liquid", Container: bottle.Name, Fill: "375 mL"}))(b)
		a := must(b.CookAdvice(b.ctx, "2", app.AdviceOptions{}))(b)
		if a.Vessel == nil || a.CoreMin == nil || math.Abs(a.Vessel.FillMM-97.4) > 0.1 { // 375 mL in a bore of 70 mm
			t.Fatalf("broth: %+v; missing %v", a.Vessel, a.Missing)
		}
		has(t, a.Cautions, "boil_over")
	})
}
