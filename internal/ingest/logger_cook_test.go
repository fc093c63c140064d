package ingest

import (
	"math"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// pot is the made-up chamber of the C files, minutes after 15:20 UTC: at
// 121.4 °C from 16:00 to 16:30 and from 16:40 to 17:25.
func pot(m float64) float64 {
	switch {
	case m < 40:
		return 20 + 101.4*m/40
	case m <= 70:
		return 121.4
	case m < 75:
		return 121.4 - 2*(m-70)
	case m < 80:
		return 111.4 + 2*(m-75)
	case m <= 125:
		return 121.4
	}
	return 121.4 - 1.5*(m-125)
}

var cookStart = time.Date(2026, 4, 1, 15, 20, 0, 0, time.UTC)

// follows checks that every reading is that of the chamber at its time: none
// is of another sensor, and none has slid.
func follows(t *testing.T, name string, got []lab.Reading) {
	t.Helper()
	for i, r := range got {
		m := math.Floor(r.At.Sub(cookStart).Minutes())
		if want := pot(m); math.Abs(r.Celsius-want) > 0.06 { // printed to 0.1 °C, or to 0.1 °F
			t.Fatalf("%s: reading %d at %s is %.2f °C, the chamber had %.2f", name, i+1, r.At.Format("15:04:05"), r.Celsius, want)
		}
	}
}

func TestCookLogs(t *testing.T) {
	dayFirst := true
	at := func(h, m int) time.Time { return time.Date(2026, 4, 1, h, m, 0, 0, time.UTC) }
	for _, c := range []struct {
		file     string
		o        LoggerOptions
		readings int
		refused  map[int]string // by line
		seams    int
		note     string
	}{
		{"C11", LoggerOptions{Series: "pot_temp_c"}, 134, map[int]string{166: `"unavailable" is no temperature`}, 0, "other_series"},
		{"C12", LoggerOptions{Series: "pt temp", Unit: "C"}, 135, map[int]string{69: "SLEEPING", 137: "SLEEPING", 206: "SLEEPING", 274: "SLEEPING"}, 0, "other_series"},
		{"C15", LoggerOptions{DayFirst: &dayFirst}, 66, map[int]string{15: `"---" is no temperature`, 41: `"---" is no temperature`}, 0, ""},
		{"C17", LoggerOptions{Starts: []time.Time{at(15, 40), at(16, 40)}}, 100, map[int]string{74: "2 fields, the heading has 3"}, 1, "joined_logs"},
		{"C17", LoggerOptions{Starts: []time.Time{{}, at(16, 40)}}, 50, nil, 0, ""},
	} {
		got, err := readLog(t, c.file, c.o)
		if err != nil {
			t.Errorf("%s: %v", c.file, err)
			continue
		}
		if len(got.Readings) != c.readings {
			t.Errorf("%s: %d readings, want %d", c.file, len(got.Readings), c.readings)
		}
		follows(t, c.file, got.Readings)
		for _, r := range got.Refused {
			if want, listed := c.refused[r.Line]; c.refused != nil && (!listed || !strings.Contains(r.Why, want)) {
				t.Errorf("%s: line %d: %s", c.file, r.Line, r.Why)
			}
		}
		if c.refused != nil && len(got.Refused) != len(c.refused) {
			t.Errorf("%s: %d lines refused, want %d: %v", c.file, len(got.Refused), len(c.refused), got.Refused)
		}
		seams, note := 0, ""
		for _, r := range got.Readings {
			if r.Seam {
				seams++
			}
		}
		for _, x := range got.Cautions {
			note += x.Code
		}
		if seams != c.seams || note != c.note {
			t.Errorf("%s: %d seams and the cautions %q, want %d and %q", c.file, seams, note, c.seams, c.note)
		}
	}
}

// What the layouts leave open is asked about.
func TestCookLogsAsk(t *testing.T) {
	at := func(h, m int) time.Time { return time.Date(2026, 4, 1, h, m, 0, 0, time.UTC) }
	for _, c := range []struct {
		file        string
		o           LoggerOptions
		field, says string
	}{
		{"C11", LoggerOptions{Place: "chamber"}, "series", "lay in the chamber is not said; write one of pot_temp_c, jar_7_temp_c"},
		{"C11", LoggerOptions{Series: "pot"}, "series", `holds no "pot"`},
		{"C12", LoggerOptions{Unit: "C"}, "series", "write one of PT TEMP, JR TEMP"},
		{"C12", LoggerOptions{Series: "PT TEMP"}, "unit", "choose °C or °F"},
		{"C15", LoggerOptions{}, "days", "two ways"},
		{"C17", LoggerOptions{}, "start", "2 logs that count from their own start; none is given"},
		{"C17", LoggerOptions{Starts: []time.Time{at(15, 40)}}, "start", "1 given"},
		{"C17", LoggerOptions{Starts: []time.Time{at(15, 40), at(16, 20)}}, "start", "begin at 16:20:00, before another ends at 16:29:00"},
		{"C17", LoggerOptions{Starts: []time.Time{at(15, 40), at(16, 40), at(18, 0)}}, "start", "3 given"},
	} {
		_, err := readLog(t, c.file, c.o)
		if p, ok := lab.AsProblem(err); !ok || p.Field != c.field || !strings.Contains(p.Error(), c.says) {
			t.Errorf("%s gives %v, want a problem at %s with %q", c.file, err, c.field, c.says)
		}
	}
}

// Logs are put one after the other by their starts, whichever stands first.
func TestJoinedLogsKeepTheirOrder(t *testing.T) {
	at := func(h, m int) time.Time { return time.Date(2026, 4, 1, h, m, 0, 0, time.UTC) }
	got, err := readLog(t, "C17", LoggerOptions{Starts: []time.Time{at(18, 0), at(16, 40)}})
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range got.Readings {
		if late := !r.At.Before(at(18, 0)); late != (i >= 50) || r.Seam != (i == 50) {
			t.Fatalf("reading %d at %s, seam %v", i+1, r.At.Format("15:04"), r.Seam)
		}
	}
	const twice = "time,temp_c\n2026-04-01 10:00,20\n2026-04-01 10:01,21\ntime,temp_c\n2026-04-01 10:02,22\n2026-04-01 10:03,23\n"
	got, err = ReadLogger(strings.NewReader(twice), LoggerOptions{})
	if err != nil || len(got.Readings) != 4 || !got.Readings[2].Seam || len(got.Refused) > 0 {
		t.Errorf("a heading that comes again: %+v, %v", got, err)
	}
	const blind = "# time, temp_c, rh\n2026-04-01 10:00,20,50\n2026-04-01 10:01,21,50\n# time, pot temp_c, jar temp_c\n2026-04-01 10:02,22,20\n"
	got, err = ReadLogger(strings.NewReader(blind), LoggerOptions{})
	if err != nil || len(got.Readings) != 2 || len(got.Refused) != 1 || !strings.Contains(got.Refused[0].Why, "does not name the temperature") {
		t.Errorf("a log with two temperatures after one: %+v, %v", got, err)
	}
}

// A file with two temperatures is never read by chance.
func TestTwoTemperaturesAreAsked(t *testing.T) {
	const file = "time,pot °C,jar °C,dew point °C\n2026-04-01 10:00,121,80,9\n2026-04-01 10:01,122,81,9\n"
	_, err := ReadLogger(strings.NewReader(file), LoggerOptions{Place: "core"})
	if p, ok := lab.AsProblem(err); !ok || p.Field != "series" || !strings.Contains(p.Error(), "write one of pot °C, jar °C") {
		t.Errorf("got %v", err)
	}
	got, err := ReadLogger(strings.NewReader(file), LoggerOptions{Series: "jar °c"})
	if err != nil || got.Readings[1].Celsius != 81 || got.Column != "jar °C" {
		t.Errorf("got %+v, %v", got, err)
	}
	const named = "time,sensor,temperature C\n2026-04-01 10:00,1,121\n2026-04-01 10:00,2,80\n2026-04-01 10:01,1,122\n2026-04-01 10:01,2,81\n"
	if _, err = ReadLogger(strings.NewReader(named), LoggerOptions{Unit: "C"}); err == nil || !strings.Contains(err.Error(), "write one of 1, 2") {
		t.Errorf("two sensors in turn give %v", err)
	}
	got, err = ReadLogger(strings.NewReader(named), LoggerOptions{Unit: "C", Series: "2"})
	if err != nil || len(got.Readings) != 2 || got.Readings[1].Celsius != 81 {
		t.Errorf("got %+v, %v", got, err)
	}
	// One that is named as a temperature among others that are not is taken.
	const tall = "entity,value,when\nroom_co2,612,2026-04-01T10:00:00Z\npot_temp_f,248,2026-04-01T10:00:00Z\npot_temp_f,249.8,2026-04-01T10:01:00Z\nroom_rh,50,2026-04-01T10:02:00Z\n"
	got, err = ReadLogger(strings.NewReader(tall), LoggerOptions{})
	if err != nil || len(got.Readings) != 2 || math.Abs(got.Readings[1].Celsius-121) > 1e-9 || got.Column != "pot_temp_f" {
		t.Errorf("got %+v, %v", got, err)
	}
	if _, err = ReadLogger(strings.NewReader(strings.ReplaceAll(tall, "pot_temp_f", "room_lux")), LoggerOptions{}); err == nil || !strings.Contains(err.Error(), "no series of the file is a temperature") {
		t.Errorf("a file without a temperature gives %v", err)
	}
}

// The unit behind a value goes before what was said of the file.
func TestUnitBehindTheValue(t *testing.T) {
	got, err := ReadLogger(strings.NewReader("time,temp\n2026-04-01 10:00,20.5 °C\n2026-04-01 10:01,70.7°F\n2026-04-01 10:02,22\n"), LoggerOptions{Unit: "C"})
	if err != nil || len(got.Readings) != 3 {
		t.Fatalf("%+v, %v", got, err)
	}
	for i, want := range []float64{20.5, 21.5, 22} {
		if got := got.Readings[i].Celsius; math.Abs(got-want) > 1e-9 {
			t.Errorf("value %d is %.3f °C, want %g", i+1, got, want)
		}
	}
}

// A row that is lost has had its time; a heading that counts otherwise is
// told of.
func TestRowsWithoutTimes(t *testing.T) {
	const head = "\"ch\",1,\"temperature\",\"F\"\n\"time\",2026-04-01,08:00,30,\"sec\",4\n"
	got, err := ReadLogger(strings.NewReader(head+"212\nbad\n248\n"), LoggerOptions{})
	if err != nil || len(got.Readings) != 2 || len(got.Refused) != 1 || got.Refused[0].Line != 4 {
		t.Fatalf("%+v, %v", got, err)
	}
	if last := got.Readings[1]; last.At.Format("15:04:05") != "08:01:00" || math.Abs(last.Celsius-120) > 1e-9 {
		t.Errorf("the third row is %v", last)
	}
	if len(got.Cautions) != 1 || got.Cautions[0].Code != "count_differs" {
		t.Errorf("cautions are %v", got.Cautions)
	}
	if got, _ = ReadLogger(strings.NewReader(head+"212\nbad\n248\n249\n"), LoggerOptions{}); len(got.Cautions) != 0 {
		t.Errorf("with as many rows as it says: %v", got.Cautions)
	}
	bare := strings.Replace(head, "temperature", "volts", 1)
	if _, err = ReadLogger(strings.NewReader(bare+"212\n213\n"), LoggerOptions{}); err == nil || !strings.Contains(err.Error(), "temp, -") {
		t.Errorf("no column is a temperature: %v", err)
	}
	got, err = ReadLogger(strings.NewReader(bare+"212\n213\n"), LoggerOptions{Columns: "temp", Unit: "F"})
	if err != nil || len(got.Readings) != 2 {
		t.Errorf("with its column told: %+v, %v", got, err)
	}
	for unit, step := range map[string]time.Duration{"s": 30 * time.Second, "min": 30 * time.Minute, "h": 30 * time.Hour} {
		got, err := ReadLogger(strings.NewReader(strings.Replace(head, "\"sec\"", unit, 1)+"212\n213\n"), LoggerOptions{})
		switch {
		case step > 24*time.Hour: // no logger reads once in more than a day
			if err == nil {
				t.Errorf("every %v is taken", step)
			}
		case err != nil || got.Readings[1].At.Sub(got.Readings[0].At) != step:
			t.Errorf("30 %s: %+v, %v", unit, got.Readings, err)
		}
	}
}

// What was said of a file is recalled by its heading, and goes along to be
// kept; what is said anew goes before it.
func TestLoggerIsRecalled(t *testing.T) {
	kept := make(map[string]app.LoggerTold)
	recall := func(source string) app.LoggerTold { return kept[source] }
	first := true
	for _, c := range []struct {
		file string
		o    LoggerOptions
	}{
		{"C11", LoggerOptions{Place: "core", Series: "jar_7_temp_c"}},
		{"C12", LoggerOptions{Place: "chamber", Series: "PT TEMP", Unit: "C"}},
		{"C15", LoggerOptions{DayFirst: &first}},
		{"L06", LoggerOptions{File: "log0007.csv", Columns: "time, -, temp, -, -, -, -", Unit: "C"}},
		{"L14", LoggerOptions{Columns: "time; -; -; temp; -", Unit: "C"}},
	} {
		told, err := readLog(t, c.file, c.o)
		if err != nil || told.Source == "" {
			t.Fatalf("%s from %q: %v", c.file, told.Source, err)
		}
		kept[told.Source] = told.Said
		again, err := readLog(t, c.file, LoggerOptions{Place: c.o.Place, File: strings.Replace(c.o.File, "7", "8", 1), Recall: recall})
		if err != nil || again.Source != told.Source || len(again.Readings) != len(told.Readings) || again.Readings[0] != told.Readings[0] {
			t.Errorf("%s, the next file: %v, %d readings instead of %d", c.file, err, len(again.Readings), len(told.Readings))
		}
	}
	if len(kept) != 5 {
		t.Errorf("%d kinds of file are told apart, want 5: %v", len(kept), kept)
	}
	if _, err := readLog(t, "C11", LoggerOptions{Place: "chamber", Recall: recall}); err == nil || !strings.Contains(err.Error(), "chamber") {
		t.Errorf("the core's series was taken for the chamber: %v", err)
	}
	other, err := readLog(t, "C11", LoggerOptions{Place: "core", Series: "pot_temp_c", Recall: recall})
	if err != nil {
		t.Fatal(err)
	}
	follows(t, "said anew", other.Readings)
}

func TestStartsAreParsed(t *testing.T) {
	now := time.Date(2026, 4, 2, 0, 0, 0, 0, time.UTC)
	got, err := ParseStarts("2026-04-01 09:30; -;2026-04-01 11:05", now, time.UTC)
	if err != nil || len(got) != 3 || got[0].Hour() != 9 || !got[1].IsZero() || got[2].Minute() != 5 {
		t.Errorf("got %v, %v", got, err)
	}
	if got, err := ParseStarts("  ", now, time.UTC); got != nil || err != nil {
		t.Errorf("nothing gives %v, %v", got, err)
	}
	if _, err := ParseStarts("2026-04-01 09:30; soon", now, time.UTC); err == nil {
		t.Error("soon is taken for a time")
	}
}
