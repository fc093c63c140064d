package calendar

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pinset/internal/app"
)

var (
	monday = time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)
	told   = time.Date(2026, 3, 8, 18, 30, 0, 0, time.UTC)
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// chore is an entry of one day.
func chore(uid, title, text string) app.CalendarEntry {
	return app.CalendarEntry{UID: uid, Changed: told, Start: monday, Days: 1, Title: title, Text: text, Page: "cooks/7"}
}

// part is a component as it was read back.
type part struct {
	name  string
	props map[string]string // with parameters in the key, such as DTSTART;VALUE=DATE
	parts []*part
}

func (p *part) all(name string) (out []*part) {
	for _, x := range p.parts {
		if x.name == name {
			out = append(out, x)
		}
	}
	return out
}

// strict reads a feed by the letter of RFC 5545: lines end in CRLF and hold at
// most 75 octets (3.1), a folded line goes on after one blank, no fold splits
// a character, components nest, and what must stand once stands once (3.6).
func strict(raw []byte) (*part, error) {
	body, ok := strings.CutSuffix(string(raw), "\r\n")
	if !ok {
		return nil, fmt.Errorf("the last line does not end in CRLF")
	}
	var lines []string
	for _, l := range strings.Split(body, "\r\n") {
		switch {
		case len(l) > 75:
			return nil, fmt.Errorf("%d octets: %q", len(l), l)
		case !utf8.ValidString(l):
			return nil, fmt.Errorf("a fold splits a character: %q", l)
		case strings.ContainsFunc(l, func(r rune) bool { return r < ' ' && r != '\t' || r == 0x7f }):
			return nil, fmt.Errorf("a control character: %q", l)
		case l == "":
			return nil, fmt.Errorf("an empty line")
		case l[0] == ' ' || l[0] == '\t':
			if len(lines) == 0 {
				return nil, fmt.Errorf("the first line goes on")
			}
			lines[len(lines)-1] += l[1:]
		default:
			if name, _, _ := strings.Cut(l, ":"); strings.Count(name, ";VALUE=") > 1 {
				return nil, fmt.Errorf("a parameter stands twice: %q", l)
			}
			lines = append(lines, l)
		}
	}
	return nested(lines)
}

func nested(lines []string) (*part, error) {
	root := &part{}
	open := []*part{root}
	for _, l := range lines {
		key, value, ok := strings.Cut(l, ":")
		here := open[len(open)-1]
		switch {
		case !ok:
			return nil, fmt.Errorf("no colon in %q", l)
		case key == "BEGIN":
			p := &part{name: value, props: map[string]string{}}
			here.parts, open = append(here.parts, p), append(open, p)
		case key == "END":
			if here.name != value {
				return nil, fmt.Errorf("END:%s within %s", value, here.name)
			}
			if err := complete(here); err != nil {
				return nil, err
			}
			open = open[:len(open)-1]
		default:
			name, _, _ := strings.Cut(key, ";")
			for have := range here.props {
				if had, _, _ := strings.Cut(have, ";"); had == name {
					return nil, fmt.Errorf("%s stands twice in %s", name, here.name)
				}
			}
			here.props[key] = value
		}
	}
	if len(open) != 1 || len(root.parts) != 1 || root.parts[0].name != "VCALENDAR" {
		return nil, fmt.Errorf("not one VCALENDAR")
	}
	return root.parts[0], nil
}

// needed is what each component must hold.
var needed = map[string][]string{
	"VCALENDAR": {"VERSION", "PRODID"},
	"VEVENT":    {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "SEQUENCE"},
	"VALARM":    {"ACTION", "TRIGGER", "DESCRIPTION"},
	"VTIMEZONE": {"TZID"},
	"STANDARD":  {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"},
	"DAYLIGHT":  {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"},
}

func complete(p *part) error {
	names, known := needed[p.name]
	if !known {
		return fmt.Errorf("component %q", p.name)
	}
	for _, want := range names {
		found := false
		for key := range p.props {
			name, _, _ := strings.Cut(key, ";")
			found = found || name == want
		}
		if !found {
			return fmt.Errorf("%s without %s", p.name, want)
		}
	}
	return nil
}

func write(t testing.TB, c app.Calendar, at string) (*part, []byte) {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, c, at); err != nil {
		t.Fatal(err)
	}
	p, err := strict(b.Bytes())
	if err != nil {
		t.Fatalf("%v in:\n%s", err, b.String())
	}
	return p, b.Bytes()
}

func equal(t *testing.T, what, got, want string) {
	t.Helper()
	if got != want {
		t.Errorf("%s is %q, want %q", what, got, want)
	}
}

// RFC 5545, 3.3.11: backslash, semicolon, comma and line break are escaped, in
// this order; colon and quote are not. 117 octets of text with characters of
// two and three octets fold into lines of at most 75 (3.1).
func TestChore(t *testing.T) {
	text := "Move 24 jars of batch L26K24-017 to the light shelf at 18–20 °C; check for green spots, then log it."
	p, raw := write(t, app.Calendar{Name: "Pinset", Zone: time.UTC, Entries: []app.CalendarEntry{chore("a", `B12·1–6: "to light", a\b;c`+"\nnext", text)}}, "http://farm:8470/")
	e := p.all("VEVENT")[0]
	equal(t, "DESCRIPTION", e.props["DESCRIPTION"], `Move 24 jars of batch L26K24-017 to the light shelf at 18–20 °C\; check for green spots\, then log it.`)
	equal(t, "SUMMARY", e.props["SUMMARY"], `B12·1–6: "to light"\, a\\b\;c\nnext`)
	equal(t, "DTSTART", e.props["DTSTART;VALUE=DATE"], "20260309")
	equal(t, "DTEND, which is exclusive", e.props["DTEND;VALUE=DATE"], "20260310")
	equal(t, "DTSTAMP", e.props["DTSTAMP"], "20260308T183000Z")
	equal(t, "UID", e.props["UID"], "a@pinset")
	equal(t, "SEQUENCE", e.props["SEQUENCE"], "0")
	equal(t, "URL", e.props["URL"], "http://farm:8470/cooks/7")
	equal(t, "VERSION", p.props["VERSION"], "2.0")
	if len(e.all("VALARM")) != 0 || len(p.all("VTIMEZONE")) != 0 {
		t.Error("a whole day needs neither alarm nor zone")
	}
	if !bytes.Contains(raw, []byte("\r\n ")) {
		t.Error("nothing is folded")
	}
}

// The clock of Lisbon goes from 01:00 to 02:00 on 29 March 2026 (IANA time
// zone database): a step before and one after it have their own offsets.
func TestStepAcrossTheChangeOfTheClock(t *testing.T) {
	before := time.Date(2026, 3, 29, 0, 40, 0, 0, time.UTC)
	step := func(uid string, at time.Time, cancelled bool) app.CalendarEntry {
		return app.CalendarEntry{UID: uid, Changed: told, Sequence: 2, Start: at, Title: "Cook 7: heat off", Text: "90 min", Cancelled: cancelled}
	}
	p, _ := write(t, app.Calendar{Zone: zone(t, "Europe/Lisbon"), Entries: []app.CalendarEntry{
		step("hold", before, false), step("open", before.Add(time.Hour), false), step("gone", before, true),
	}}, "")
	events := p.all("VEVENT")
	equal(t, "before the change", events[0].props["DTSTART;TZID=Europe/Lisbon"], "20260329T004000")
	equal(t, "after the change", events[1].props["DTSTART;TZID=Europe/Lisbon"], "20260329T024000")
	ring := events[0].all("VALARM")[0]
	equal(t, "ACTION", ring.props["ACTION"], "DISPLAY")
	equal(t, "TRIGGER", ring.props["TRIGGER"], "PT0S")
	equal(t, "DESCRIPTION", ring.props["DESCRIPTION"], "Cook 7: heat off")
	equal(t, "STATUS", events[2].props["STATUS"], "CANCELLED")
	equal(t, "SEQUENCE", events[2].props["SEQUENCE"], "2")
	if len(events[2].all("VALARM")) != 0 {
		t.Error("what is cancelled rings")
	}
	z := p.all("VTIMEZONE")[0]
	summer := z.all("DAYLIGHT")[0]
	equal(t, "onset of summer, in the time before it", summer.props["DTSTART"], "20260329T010000")
	equal(t, "TZOFFSETFROM", summer.props["TZOFFSETFROM"], "+0000")
	equal(t, "TZOFFSETTO", summer.props["TZOFFSETTO"], "+0100")
	equal(t, "onset of winter", z.all("STANDARD")[0].props["DTSTART"], "20251026T020000")
}

func TestOffsets(t *testing.T) {
	for seconds, want := range map[int]string{0: "+0000", 19800: "+0530", -12600: "-0330", 1172: "+001932"} {
		equal(t, fmt.Sprint(seconds, " s"), offset(seconds), want)
	}
}

func TestZonesWithoutAName(t *testing.T) {
	step := app.CalendarEntry{UID: "a", Changed: told, Start: told, Title: "x"}
	for _, z := range []*time.Location{time.UTC, time.Local} {
		p, _ := write(t, app.Calendar{Zone: z, Entries: []app.CalendarEntry{step}}, "")
		equal(t, "DTSTART", p.all("VEVENT")[0].props["DTSTART"], "20260308T183000Z")
	}
	p, _ := write(t, app.Calendar{Zone: zone(t, "Asia/Kolkata"), Entries: []app.CalendarEntry{step}}, "") // no summer time
	equal(t, "TZOFFSETTO", p.all("VTIMEZONE")[0].all("STANDARD")[0].props["TZOFFSETTO"], "+0530")
}

func TestEmptyFeed(t *testing.T) {
	if p, _ := write(t, app.Calendar{Zone: time.UTC}, ""); len(p.all("VEVENT")) != 0 {
		t.Error("something stands in an empty feed")
	}
}

// unescape is the way back of RFC 5545, 3.3.11.
var unescape = strings.NewReplacer(`\\`, `\`, `\,`, ",", `\;`, ";", `\n`, "\n")

func FuzzTexts(f *testing.F) {
	for _, s := range []string{"", "a", strings.Repeat("é", 80), strings.Repeat("x", 63), strings.Repeat("x", 64), strings.Repeat("😀", 60), "a\rb\r\nc\\n,;:\"", "\xff\xfe", "\x00\x1b", " "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, _ := write(t, app.Calendar{Name: s, Zone: time.UTC, Entries: []app.CalendarEntry{chore("a", s, s+".")}}, "")
		if got := unescape.Replace(p.all("VEVENT")[0].props["DESCRIPTION"]); got != text(s)+"." {
			t.Errorf("%q comes back as %q", s, got)
		}
	})
}

// BenchmarkWrite writes 5 000 entries.
func BenchmarkWrite(b *testing.B) {
	c := app.Calendar{Name: "Pinset", Zone: zone(b, "Europe/Lisbon")}
	for i := range 5000 {
		e := chore(fmt.Sprintf("cover-0198f6c2-7a10-7cc1-9d3e-%012d-20260309", i), fmt.Sprintf("B%d·1–24: full cover expected", i), "Day 7 to 14, late from 31 March; source: common practice, no source.")
		if i%10 == 0 {
			e.Days = 0
		}
		c.Entries = append(c.Entries, e)
	}
	for b.Loop() {
		if err := Write(io.Discard, c, "http://192.168.1.4:8470/"); err != nil {
			b.Fatal(err)
		}
	}
}
