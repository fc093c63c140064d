package thermal

import (
	"math"
	"testing"
	"time"
)

// logOf is a record with a reading every step from minute 0.
func logOf(step time.Duration, temps ...float64) []Logged {
	begin := time.Date(2026, 4, 1, 9, 0, 0, 0, time.UTC)
	out := make([]Logged, len(temps))
	for i, c := range temps {
		out[i] = Logged{At: begin.Add(time.Duration(i) * step), Celsius: c}
	}
	return out
}

func minutesOf(t *testing.T, s []Stretch) []float64 {
	t.Helper()
	var out []float64
	for _, x := range s {
		m, ok := x.Minutes()
		if !ok || m < 0 {
			t.Fatalf("a stretch of %v to %v", x.From, x.To)
		}
		out = append(out, math.Round(m*1000)/1000)
	}
	return out
}

func sameMinutes(t *testing.T, what string, got []Stretch, want ...float64) {
	t.Helper()
	have := minutesOf(t, got)
	if len(have) != len(want) {
		t.Errorf("%s: stretches of %v min, want %v", what, have, want)
		return
	}
	for i := range want {
		if have[i] != want[i] {
			t.Errorf("%s: stretches of %v min, want %v", what, have, want)
		}
	}
}

func TestStretchesAbove(t *testing.T) {
	minute := time.Minute
	sameMinutes(t, "nothing read", StretchesAbove(nil, 121))
	sameMinutes(t, "below throughout", StretchesAbove(logOf(minute, 119, 120.9, 120), 121))
	sameMinutes(t, "at the limit throughout", StretchesAbove(logOf(minute, 121, 121, 121), 121), 2)
	sameMinutes(t, "in on a line, out on a line", StretchesAbove(logOf(minute, 119, 123, 123, 119), 121), 2)
	sameMinutes(t, "a dip that touches", StretchesAbove(logOf(minute, 122, 121, 122), 121), 2)
	sameMinutes(t, "a dip below", StretchesAbove(logOf(minute, 122, 122, 120, 122, 122, 122), 121), 1.5, 2.5)
	sameMinutes(t, "one hot reading", StretchesAbove(logOf(minute, 122), 121), 0)

	// Ten minutes hot, twice, with a seam between that is no longer than a step.
	joined := logOf(minute, make([]float64, 22)...)
	for i := range joined {
		joined[i].Celsius = 122
	}
	sameMinutes(t, "no seam", StretchesAbove(joined, 121), 21)
	joined[11].Seam = true
	sameMinutes(t, "a seam", StretchesAbove(joined, 121), 10, 10)

	gap := func(step, missing time.Duration) []Stretch {
		log := logOf(step, 122, 122, 122, 122, 122)
		for i := 3; i < len(log); i++ {
			log[i].At = log[i].At.Add(missing)
		}
		return StretchesAbove(log, 121)
	}
	sameMinutes(t, "5 min unseen", gap(minute, 4*minute), 8)
	sameMinutes(t, "more than 5 min unseen", gap(minute, 4*minute+time.Second), 2, 1)
	// The usual step is the middle one: two quick readings do not make a logger quick.
	quick := logOf(10*minute, 122, 122, 122, 122, 122, 122)
	quick[5].At = quick[4].At.Add(25 * minute)
	quick = append(quick, Logged{At: quick[5].At.Add(time.Second), Celsius: 122})
	sameMinutes(t, "a quick reading among slow ones", StretchesAbove(quick, 121), math.Round((65+1.0/60)*1000)/1000)
	quick[2].At, quick[3].At = quick[1].At.Add(time.Second), quick[1].At.Add(2*time.Second)
	quick[4].At = quick[3].At.Add(10 * minute)
	quick[5].At = quick[4].At.Add(10 * minute)
	sameMinutes(t, "two quick readings of five steps", StretchesAbove(quick[:6], 121), math.Round((30+2.0/60)*1000)/1000)
	sameMinutes(t, "two readings", StretchesAbove(logOf(10*minute, 122, 122), 121), 10)
	late := logOf(minute, 122, 122, 122, 122)
	for i := range late[1:] {
		late[i+1].At = late[i+1].At.Add(time.Hour)
	}
	sameMinutes(t, "unseen after the first reading", StretchesAbove(late, 121), 0, 2)
	sameMinutes(t, "three steps of 10 min", gap(10*minute, 20*minute), 60)
	sameMinutes(t, "more than three steps", gap(10*minute, 20*minute+time.Second), 20, 10)
}

// The readings that were given are left as they are.
func TestLoggedStaysAsGiven(t *testing.T) {
	log := logOf(time.Minute, 122, 122, 122)
	log[2].At = log[2].At.Add(time.Hour)
	StretchesAbove(log, 121)
	if log[2].Seam {
		t.Error("the gap was written into the input")
	}
	log[1].Seam = true
	if parts := Logs(log); len(parts) != 2 || len(parts[0]) != 1 || len(parts[1]) != 2 {
		t.Errorf("parted into %v", parts)
	}
}
