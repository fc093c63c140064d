package thermal

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pinset/internal/figure"
)

func marks(pairs ...string) []HeldMark {
	out := []HeldMark{}
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, HeldMark{At: pairs[i], Event: pairs[i+1]})
	}
	return out
}

func hasCaution(cs []figure.Caution, code string) bool {
	for _, c := range cs {
		if c.Code == code {
			return true
		}
	}
	return false
}

// faultAt fails the test unless err is a Fault at field that says how to
// mend it.
func faultAt(t *testing.T, err error, field string) {
	t.Helper()
	var f *figure.Fault
	if !errors.As(err, &f) {
		t.Fatalf("error %v, want a fault at %q", err, field)
	}
	if f.Field != field {
		t.Errorf("fault at %q (%v), want at %q", f.Field, err, field)
	}
	if f.Mend == "" || f.What == "" {
		t.Errorf("fault %+v lacks what or mend", f)
	}
}

// The rule: below the target, the whole time starts again (USDA, Complete
// Guide to Home Canning, 2015). 47 + 76 = 123 min at pressure fail a rule of
// 90; 47 and then 96 pass.
func TestHeldInterrupted(t *testing.T) {
	for _, c := range []struct {
		name    string
		off     string
		longest float64
		valid   bool
		met     string
	}{
		{"47 then 76 min fail", "16:10", 76, false, ""},
		{"47 then 96 min pass", "16:30", 96, true, "16:24"},
		{"47 then exactly 90 min pass", "16:24", 90, true, "16:24"},
	} {
		t.Run(c.name, func(t *testing.T) {
			ans, err := Held(HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:47", "lost", "14:54", "back", c.off, "heat_off")})
			if err != nil {
				t.Fatal(err)
			}
			r := ans.Result
			if len(r.StretchesMin) != 2 || *r.StretchesMin[0] != 47 || *r.StretchesMin[1] != c.longest || *r.LongestMin != c.longest {
				t.Errorf("stretches and longest wrong: %+v", r)
			}
			if r.Valid != c.valid || (r.MetAt != nil) != c.valid || c.valid && *r.MetAt != c.met {
				t.Errorf("valid %v met %v, want %v %q", r.Valid, r.MetAt, c.valid, c.met)
			}
			if hasCaution(ans.Cautions, "hold_not_met") == c.valid || !hasCaution(ans.Cautions, "interrupted") {
				t.Errorf("cautions %+v", ans.Cautions)
			}
		})
	}
}

func TestHeldOverMidnight(t *testing.T) {
	ans, err := Held(HeldInput{HoldMin: 90, Marks: marks("23:10", "reached", "00:45", "heat_off")})
	if err != nil {
		t.Fatal(err)
	}
	if r := ans.Result; *r.LongestMin != 95 || !r.Valid || *r.MetAt != "00:40" {
		t.Errorf("%+v, met %s", r, *r.MetAt)
	}
}

func TestHeldRunning(t *testing.T) {
	in := HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:20", "lost", "14:30", "back")}
	ans, err := Held(in)
	if err != nil {
		t.Fatal(err)
	}
	r := ans.Result
	if !r.Running || r.Valid || r.MetAt != nil || len(r.StretchesMin) != 2 || r.StretchesMin[1] != nil || *r.DueAt != "16:00" || *r.LongestMin != 20 {
		t.Errorf("running: %+v", r)
	}
	if !hasCaution(ans.Cautions, "still_running") || hasCaution(ans.Cautions, "hold_not_met") {
		t.Errorf("cautions %+v", ans.Cautions)
	}
	in.Now = "16:05"
	ans, err = Held(in)
	if err != nil {
		t.Fatal(err)
	}
	if r := ans.Result; *r.LongestMin != 95 || !r.Valid || *r.MetAt != "16:00" || r.DueAt != nil {
		t.Errorf("with now: %+v", r)
	}
	in.Now, in.Marks = "", in.Marks[:2]
	ans, err = Held(in)
	if err != nil {
		t.Fatal(err)
	}
	if r := ans.Result; !r.Running || r.DueAt != nil || r.Valid {
		t.Errorf("lost and not back: %+v", r)
	}
}

func TestHeldRFC3339(t *testing.T) {
	ans, err := Held(HeldInput{HoldMin: 60, Marks: marks(
		"2026-03-07T23:30:00+01:00", "reached", "2026-03-07T23:40:00Z", "heat_off")})
	if err != nil {
		t.Fatal(err)
	}
	if r := ans.Result; *r.LongestMin != 70 || *r.MetAt != "2026-03-08T00:30:00+01:00" {
		t.Errorf("%+v met %s", r, *r.MetAt)
	}
}

func TestHeldNeverReached(t *testing.T) {
	ans, err := Held(HeldInput{HoldMin: 90, Marks: marks("14:00", "heat_off")})
	if err != nil {
		t.Fatal(err)
	}
	if r := ans.Result; r.Valid || r.LongestMin != nil || r.StretchesMin == nil || len(r.StretchesMin) != 0 {
		t.Errorf("%+v", r)
	}
	if !hasCaution(ans.Cautions, "hold_not_met") {
		t.Error("want the caution hold_not_met")
	}
}

func TestHeldFaults(t *testing.T) {
	for _, c := range []struct {
		name, field string
		in          HeldInput
	}{
		{"no hold", "hold_min", HeldInput{Marks: marks("14:00", "reached")}},
		{"nan hold", "hold_min", HeldInput{HoldMin: math.NaN(), Marks: marks("14:00", "reached")}},
		{"endless hold", "hold_min", HeldInput{HoldMin: math.Inf(1), Marks: marks("14:00", "reached")}},
		{"no marks", "marks", HeldInput{HoldMin: 90}},
		{"back without lost", "marks[1].event", HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:10", "back")}},
		{"back first", "marks[0].event", HeldInput{HoldMin: 90, Marks: marks("14:10", "back")}},
		{"lost first", "marks[0].event", HeldInput{HoldMin: 90, Marks: marks("14:00", "lost")}},
		{"lost twice", "marks[2].event", HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:10", "lost", "14:20", "lost")}},
		{"reached twice", "marks[1].event", HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:10", "reached")}},
		{"reached after lost", "marks[2].event", HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:10", "lost", "14:20", "reached")}},
		{"after heat_off", "marks[2].event", HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:10", "heat_off", "14:20", "back")}},
		{"unknown event", "marks[1].event", HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:10", "paused")}},
		{"backwards", "marks[1].at", HeldInput{HoldMin: 90, Marks: marks("2026-03-07T14:00:00Z", "reached", "2026-03-07T13:00:00Z", "heat_off")}},
		{"mixed styles", "marks[1].at", HeldInput{HoldMin: 90, Marks: marks("2026-03-07T14:00:00Z", "reached", "15:00", "heat_off")}},
		{"no clock time", "marks[0].at", HeldInput{HoldMin: 90, Marks: marks("24:00", "reached")}},
		{"minute 60", "marks[0].at", HeldInput{HoldMin: 90, Marks: marks("14:60", "reached")}},
		{"signed", "marks[0].at", HeldInput{HoldMin: 90, Marks: marks("+1:00", "reached")}},
		{"now before", "now", HeldInput{HoldMin: 90, Marks: marks("2026-03-07T14:00:00Z", "reached"), Now: "2026-03-07T13:00:00Z"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Held(c.in)
			faultAt(t, err, c.field)
		})
	}
}

func TestHeldLongGap(t *testing.T) {
	ans, err := Held(HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "13:30", "heat_off")})
	if err != nil {
		t.Fatal(err)
	}
	if !hasCaution(ans.Cautions, "long_gap") {
		t.Error("a slip of the clock gives no caution")
	}
}

// Splitting a stretch never makes a hold valid, wherever the dip lies.
func TestStretchesDipNeverHelps(t *testing.T) {
	at := func(m int) time.Time { return clockDay.Add(time.Duration(m) * time.Minute) }
	for dip := 1; dip < 120; dip++ {
		s, err := Stretches([]Mark{{at(0), Reached}, {at(dip), Lost}, {at(dip), Back}, {at(120), HeatOff}})
		if err != nil {
			t.Fatal(err)
		}
		_, ok := MetAt(s, 90*time.Minute)
		if want := dip >= 90 || 120-dip >= 90; ok != want {
			t.Errorf("dip at %d min: met %v, want %v", dip, ok, want)
		}
	}
}

func FuzzHeld(f *testing.F) {
	f.Add("14:00", "15:31", "reached", "heat_off", 90.0)
	f.Add("2026-03-07T14:00:00Z", "2026-03-07T13:00:00Z", "reached", "lost", 0.5)
	f.Add("9:5", "", "back", "back", -1.0)
	f.Fuzz(func(t *testing.T, a, b, ea, eb string, hold float64) {
		ans, err := Held(HeldInput{HoldMin: hold, Marks: marks(a, ea, b, eb)})
		var fault *figure.Fault
		if err != nil && !errors.As(err, &fault) {
			t.Fatalf("error %v is no fault", err)
		}
		if err != nil {
			return
		}
		r := ans.Result
		if r.Valid && (r.LongestMin == nil || *r.LongestMin < hold-1e-9) {
			t.Errorf("valid with longest %v of %g", r.LongestMin, hold)
		}
		if strings.Contains(r.metText(), "NaN") {
			t.Error("NaN in the answer")
		}
	})
}

func (r HeldResult) metText() string {
	if r.MetAt == nil {
		return ""
	}
	return *r.MetAt
}
