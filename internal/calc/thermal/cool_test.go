package thermal

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"pinset/internal/figure"
)

func mustCool(t *testing.T, in CoolInput) figure.Answer[CoolResult] {
	t.Helper()
	ans, err := Cool(in)
	if err != nil {
		t.Fatalf("Cool: %v", err)
	}
	return ans
}

// 95 °C at 16:40 and 60 °C at 18:40 in a room of 22 °C: ln(73/38)/2 = 0.326
// per hour, 27 °C after 8.2 h, at 00:53; and 22 °C never.
func TestCoolTwoReadings(t *testing.T) {
	in := CoolInput{Readings: []CoolReading{{"16:40", 95}, {"18:40", 60}}, RoomC: 22, TargetC: 27}
	r := mustCool(t, in).Result
	near(t, "rate", *r.RatePerH, math.Log(73.0/38)/2, 1e-12)
	near(t, "hours", *r.HoursToTarget, 8.2, 0.05)
	if *r.At != "00:53" || r.RMSEC != nil {
		t.Errorf("at %s, rmse %v; want 00:53 and none", *r.At, r.RMSEC)
	}
	for _, target := range []float64{22, 20} {
		in.TargetC = target
		ans := mustCool(t, in)
		if ans.Result.HoursToTarget != nil || ans.Result.At != nil || !hasCaution(ans.Cautions, "never_reached") {
			t.Errorf("target %g °C: %+v", target, ans)
		}
		if _, err := json.Marshal(ans); err != nil {
			t.Error(err)
		}
	}
}

// Readings off one exponential give its rate back, whatever their number and
// spacing; a target already passed is 0 hours.
func TestCoolExactCurve(t *testing.T) {
	in := CoolInput{RoomC: 20, TargetC: 28}
	for _, at := range []struct {
		text string
		h    float64
	}{{"2026-05-01T20:00:00Z", 0}, {"2026-05-01T21:00:00Z", 1}, {"2026-05-01T23:30:00Z", 3.5}, {"2026-05-02T02:00:00Z", 6}} {
		in.Readings = append(in.Readings, CoolReading{at.text, 20 + 80*math.Exp(-0.25*at.h)})
	}
	r := mustCool(t, in).Result
	near(t, "rate", *r.RatePerH, 0.25, 1e-12)
	near(t, "hours", *r.HoursToTarget, math.Log(10)/0.25, 1e-9)
	near(t, "scatter", *r.RMSEC, 0, 1e-9)
	if *r.At != "2026-05-02T05:13:00Z" {
		t.Errorf("at %s", *r.At)
	}
	in.TargetC = 110
	near(t, "passed", *mustCool(t, in).Result.HoursToTarget, 0, 0)
}

// One late reading near the room, half a degree off, must not turn the fit:
// the weights make readings count in °C.
func TestCoolLateReadingWeighsLittle(t *testing.T) {
	in := CoolInput{RoomC: 20, TargetC: 28, Readings: []CoolReading{
		{"08:00", 100}, {"10:00", 20 + 80*math.Exp(-0.6)}, {"23:00", 20 + 80*math.Exp(-4.5) + 0.5},
	}}
	near(t, "rate", *mustCool(t, in).Result.RatePerH, 0.3, 0.005)
}

func TestCoolDoesNotCool(t *testing.T) {
	for _, second := range []float64{60, 70} {
		ans := mustCool(t, CoolInput{Readings: []CoolReading{{"08:00", 60}, {"09:00", second}}, RoomC: 20, TargetC: 27})
		if ans.Result.RatePerH != nil || ans.Result.HoursToTarget != nil || !hasCaution(ans.Cautions, "not_cooling") {
			t.Errorf("%+v", ans)
		}
	}
}

func TestCoolCautions(t *testing.T) {
	far := mustCool(t, CoolInput{Readings: []CoolReading{{"08:00", 60}, {"09:00", 58}}, RoomC: 20, TargetC: 20.001})
	if !hasCaution(far.Cautions, "far_ahead") {
		t.Error("a target at the room: no caution")
	}
	warm := mustCool(t, CoolInput{Readings: []CoolReading{{"08:00", 60}, {"09:00", 58}, {"10:00", 30}}, RoomC: 20, TargetC: 40})
	if !hasCaution(warm.Cautions, "too_warm_to_inoculate") || !hasCaution(warm.Cautions, "poor_fit") {
		t.Errorf("cautions %+v", warm.Cautions)
	}
}

func TestCoolFaults(t *testing.T) {
	two := []CoolReading{{"08:00", 60}, {"09:00", 50}}
	for _, c := range []struct {
		name, field string
		in          CoolInput
	}{
		{"none", "readings", CoolInput{RoomC: 20, TargetC: 27}},
		{"one", "readings", CoolInput{Readings: two[:1], RoomC: 20, TargetC: 27}},
		{"below the room", "readings[1].celsius", CoolInput{Readings: two, RoomC: 50, TargetC: 55}},
		{"at once", "readings[1].at", CoolInput{Readings: []CoolReading{{"08:00", 60}, {"08:00", 50}}, RoomC: 20, TargetC: 27}},
		{"backwards", "readings[1].at", CoolInput{Readings: []CoolReading{{"2026-05-01T08:00:00Z", 60}, {"2026-05-01T07:00:00Z", 50}}, RoomC: 20, TargetC: 27}},
		{"no time", "readings[0].at", CoolInput{Readings: []CoolReading{{"8 am", 60}, {"09:00", 50}}, RoomC: 20, TargetC: 27}},
		{"fahrenheit", "readings[0].celsius", CoolInput{Readings: []CoolReading{{"08:00", 203}, {"09:00", 50}}, RoomC: 20, TargetC: 27}},
		{"nan room", "room_c", CoolInput{Readings: two, RoomC: math.NaN(), TargetC: 27}},
		{"nan target", "target_c", CoolInput{Readings: two, RoomC: 20, TargetC: math.NaN()}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Cool(c.in)
			faultAt(t, err, c.field)
		})
	}
}

func FuzzCool(f *testing.F) {
	f.Add("16:40", "18:40", 95.0, 60.0, 22.0, 27.0)
	f.Add("16:40", "16:41", 22.1, 22.0000001, 22.0, 22.0)
	f.Fuzz(func(t *testing.T, a, b string, ca, cb, room, target float64) {
		ans, err := Cool(CoolInput{Readings: []CoolReading{{a, ca}, {b, cb}}, RoomC: room, TargetC: target})
		var fault *figure.Fault
		if err != nil && !errors.As(err, &fault) {
			t.Fatalf("error %v is no fault", err)
		}
		if err != nil {
			return
		}
		if _, err := json.Marshal(ans); err != nil {
			t.Fatal(err)
		}
	})
}
