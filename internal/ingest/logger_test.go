package ingest

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pinset/internal/lab"
)

func readLog(t *testing.T, name string, o LoggerOptions) (LoggerFile, error) {
	t.Helper()
	files, err := filepath.Glob("testdata/loggers/" + name + "_*")
	if err != nil || len(files) != 1 {
		t.Fatalf("%s: %v, %v", name, files, err)
	}
	f, err := os.Open(files[0])
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	return ReadLogger(f, o)
}

func mean(r []lab.Reading) float64 {
	sum := 0.0
	for _, x := range r {
		sum += x.Celsius
	}
	return sum / float64(len(r))
}

// What each made-up file comes to was set down with it.
func TestLoggerLayouts(t *testing.T) {
	newYork, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	monthFirst := false
	for _, c := range []struct {
		file           string
		o              LoggerOptions
		readings, lost int
		meanC          float64 // 0 is not checked
		first, last    string
	}{
		{"L01", LoggerOptions{}, 4, 0, 18.35, "2026-03-02T08:00:00Z", "2026-03-02T08:30:00Z"},
		{"L02", LoggerOptions{}, 6, 1, 18.287, "2026-03-02T07:52:05Z", ""},
		{"L03", LoggerOptions{DayFirst: &monthFirst}, 4, 3, 0, "2026-03-02T16:30:00Z", "2026-03-02T18:00:00Z"},
		{"L04", LoggerOptions{}, 3, 1, 18.333, "2026-03-02T08:00:00Z", ""},
		{"L07", LoggerOptions{}, 3, 3, 18.95, "2026-03-02T14:00:00Z", "2026-03-02T14:40:00Z"}, // two lines of units and 1 NAN
		{"L08", LoggerOptions{}, 4, 0, 0, "2026-03-02T13:00:00Z", ""},                         // 120 °C is a cook, not a fault
		{"L10", LoggerOptions{DayFirst: &monthFirst}, 3, 0, 18.443, "2026-03-02T10:45:40Z", ""},
		{"L11", LoggerOptions{Unit: "C"}, 2, 1, 18.3, "2026-03-02T08:00:00Z", "2026-03-02T08:10:00Z"},
		{"L12", LoggerOptions{Unit: "C"}, 2, 1, 18.2, "2026-03-02T07:51:38Z", "2026-03-02T08:01:38Z"},
		{"L15", LoggerOptions{DayFirst: &monthFirst}, 4, 0, 18.21, "2026-02-03T11:45:00Z", "2026-02-03T12:30:00Z"},
		{"L17", LoggerOptions{Starts: []time.Time{time.Unix(1772438400, 0), time.Unix(1772442000, 0)}}, 4, 0, 18.35, "2026-03-02T08:00:00Z", "2026-03-02T09:01:00Z"},
		{"L16", LoggerOptions{Unit: "C"}, 3, 0, 18.267, "2026-03-02T08:00:00Z", ""},
		{"L18", LoggerOptions{Zone: newYork}, 6, 0, 0, "2025-11-02T04:30:00Z", "2025-11-02T07:00:00Z"},
		{"L19", LoggerOptions{}, 12, 0, 0, "", ""},
		{"L20", LoggerOptions{}, 2, 2, 0, "2026-03-02T08:20:00Z", ""},
	} {
		got, err := readLog(t, c.file, c.o)
		if err != nil {
			t.Errorf("%s: %v", c.file, err)
			continue
		}
		if len(got.Readings) != c.readings || len(got.Refused) != c.lost {
			t.Errorf("%s: %d readings and %d lines refused, want %d and %d: %v", c.file, len(got.Readings), len(got.Refused), c.readings, c.lost, got.Refused)
			continue
		}
		if m := mean(got.Readings); c.meanC != 0 && math.Abs(m-c.meanC) > 0.0006 { // printed to three decimals
			t.Errorf("%s: mean %.4f °C, want %.3f", c.file, m, c.meanC)
		}
		for i, want := range map[int]string{0: c.first, len(got.Readings) - 1: c.last} {
			if at := got.Readings[i].At.Format(time.RFC3339); want != "" && at != want {
				t.Errorf("%s: reading %d at %s, want %s", c.file, i+1, at, want)
			}
		}
		if got.Original == "" || got.Column == "" {
			t.Errorf("%s: the text or the heading is not kept", c.file)
		}
	}
}

// Files that leave something open are asked about or refused in plain words,
// never guessed.
func TestLoggerAsks(t *testing.T) {
	for file, want := range map[string]struct{ field, says string }{
		"L03": {"days", "two ways"}, "L10": {"days", "two ways"}, "L05": {"unit", "unit"},
		"L06": {"columns", "heading"}, "L09": {"columns", "heading"}, "L11": {"unit", "tent_temp"}, "L12": {"unit", "AA TEMP"}, "L15": {"days", "two ways"},
		"L08b": {"start", "start"}, "L14": {"unit", "unit"}, "L17": {"start", "start"},
	} {
		_, err := readLog(t, file, LoggerOptions{})
		if p, ok := lab.AsProblem(err); !ok || p.Field != want.field || !strings.Contains(p.Error(), want.says) {
			t.Errorf("%s gives %v, want a problem at %s with %q", file, err, want.field, want.says)
		}
	}
	for _, file := range []string{"L05", "L14"} { // with the unit said, the fields are still too many
		if _, err := readLog(t, file, LoggerOptions{Unit: "C"}); !lab.IsKind(err, lab.Invalid) || !strings.Contains(err.Error(), "fields") {
			t.Errorf("%s gives %v, want its fields counted", file, err)
		}
	}
}

func TestLoggerListsWhatItRefuses(t *testing.T) {
	const text = "time,temp_f\n2026-03-02 08:00,250\n2026-03-02 08:01,250,5\n2026-03-02 08:02,999\n2026-03-02 08:00,249\nlater,249\n\n2026-03-02 08:05,249.98\n"
	got, err := ReadLogger(strings.NewReader(text), LoggerOptions{})
	if err != nil || len(got.Readings) != 2 || math.Abs(got.Readings[0].Celsius-121.1111) > 1e-3 {
		t.Fatalf("%+v, %v", got.Readings, err)
	}
	want := map[int]string{3: "3 fields", 4: "wrong unit", 5: "not later", 6: "no time"}
	for _, r := range got.Refused {
		if !strings.Contains(r.Why, want[r.Line]) || want[r.Line] == "" {
			t.Errorf("line %d: %s", r.Line, r.Why)
		}
		delete(want, r.Line)
	}
	if len(want) > 0 {
		t.Errorf("not listed: %v", want)
	}
}

// A line is read, refused or empty; times rise and temperatures are finite.
func FuzzReadLogger(f *testing.F) {
	files, err := filepath.Glob("testdata/loggers/[LC]*")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(b))
	}
	f.Fuzz(func(t *testing.T, text string) {
		day := true
		starts := []time.Time{time.Unix(1772438400, 0), time.Unix(1772524800, 0)}[:len(text)%3]
		got, err := ReadLogger(strings.NewReader(text), LoggerOptions{Unit: "C", DayFirst: &day, Starts: starts})
		if err != nil {
			return
		}
		lines := strings.Count(got.Original, "\n") + 1
		if len(got.Readings)+len(got.Refused) > lines {
			t.Errorf("%d readings and %d refused of %d lines", len(got.Readings), len(got.Refused), lines)
		}
		rec := lab.CookRecord{Place: "core", Readings: got.Readings}
		if _, err := rec.Check(); err != nil {
			t.Errorf("what was read can not be kept: %v", err)
		}
	})
}

// What a file leaves open is told: its columns in order, or when it began.
func TestLoggerIsTold(t *testing.T) {
	begun := time.Date(2026, 3, 9, 8, 0, 0, 0, time.UTC)
	first := false
	for _, c := range []struct {
		file  string
		o     LoggerOptions
		at    time.Time // of the first reading
		c     float64
		least int
	}{
		{"L06", LoggerOptions{Columns: "time, -, temp, -, -, -, -", Unit: "C"}, time.Unix(1772438400, 0), 14.456, 4},
		{"L09", LoggerOptions{Columns: "date, time, -, temp °C, -, -", DayFirst: &first}, time.Date(2026, 2, 3, 8, 0, 0, 0, time.UTC), 18.2, 4},
		{"L14", LoggerOptions{Columns: "time; -; -; temp; -", Unit: "C"}, time.Date(2026, 3, 2, 0, 2, 4, 0, time.UTC), 19.2, 2},
		{"L08b", LoggerOptions{Starts: []time.Time{begun}}, begun, 18.2, 5},
	} {
		got, err := readLog(t, c.file, c.o)
		if err != nil {
			t.Errorf("%s: %v", c.file, err)
			continue
		}
		if r := got.Readings[0]; !r.At.Equal(c.at) || math.Abs(r.Celsius-c.c) > 1e-9 || len(got.Readings) < c.least {
			t.Errorf("%s begins with %v in %d readings, want %v %g", c.file, r, len(got.Readings), c.at, c.c)
		}
	}
	if got, _ := readLog(t, "L08b", LoggerOptions{Starts: []time.Time{begun}}); len(got.Readings) > 1 && got.Readings[1].At.Sub(begun) != 5*time.Minute {
		t.Errorf("the second reading is %v after the first", got.Readings[1].At.Sub(begun))
	}
	for _, columns := range []string{"time, temp", "-, -, -, -, -, -, -", "temp"} {
		if _, err := readLog(t, "L06", LoggerOptions{Columns: columns, Unit: "C"}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("columns %q: %v", columns, err)
		}
	}
}
