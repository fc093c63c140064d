// Package calendar writes what is due as an iCalendar feed (RFC 5545), for
// the calendars of phones and desks.
//
// A chore or stage fills whole days. A step of a running cook has a clock
// time at the farm and an alarm, for a locked phone can ring by its calendar
// but not by a page.
package calendar

import (
	"io"
	"strconv"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"pinset/internal/app"
)

// MediaType is what a feed is served as.
const MediaType = "text/calendar; charset=utf-8"

// stepLasts is how long a step of a cook is shown.
const stepLasts = 10 * time.Minute

// Write writes c as one VCALENDAR with CRLF, lines of at most 75 octets, the
// zone of the farm where a clock time needs it, and one VEVENT an entry. at
// begins the address of pages, such as "http://192.168.1.4:8470/"; "" writes
// none. The same c gives the same bytes.
func Write(w io.Writer, c app.Calendar, at string) error {
	cal := ics.NewCalendarFor("Pinset")
	cal.SetProductId("-//Pinset//Calendar//EN")
	cal.SetCalscale("GREGORIAN")
	cal.SetXWRCalName(text(c.Name))
	cal.SetRefreshInterval("PT15M")
	zone := zoneOf(c)
	if zone != nil {
		cal.AddVTimezone(zone)
	}
	for _, e := range c.Entries {
		cal.AddVEvent(event(e, c.Zone, zone != nil, at))
	}
	return cal.SerializeTo(w, ics.WithNewLineWindows)
}

const (
	clockForm = "20060102T150405"
	dayForm   = "20060102"
)

// event is one entry. What is told only by its UID is kept by calendars as the
// same event: a higher sequence number replaces it, STATUS:CANCELLED takes it
// away.
func event(e app.CalendarEntry, zone *time.Location, zoned bool, at string) *ics.VEvent {
	v := ics.NewEvent(e.UID + "@pinset")
	v.SetDtStampTime(e.Changed)
	v.SetLastModifiedAt(e.Changed)
	v.SetSequence(e.Sequence)
	v.SetSummary(text(e.Title))
	if e.Text != "" {
		v.SetDescription(text(e.Text))
	}
	if at != "" && e.Page != "" {
		v.SetURL(at + e.Page)
	}
	v.SetStatus(ics.ObjectStatusConfirmed)
	if e.Cancelled {
		v.SetStatus(ics.ObjectStatusCancelled)
	}
	v.SetTimeTransparency(ics.TransparencyTransparent)
	if e.Days > 0 {
		v.SetProperty(ics.ComponentPropertyDtStart, e.Start.Format(dayForm), ics.WithValue("DATE"))
		v.SetProperty(ics.ComponentPropertyDtEnd, e.Start.AddDate(0, 0, e.Days).Format(dayForm), ics.WithValue("DATE"))
		return v
	}
	setClock(v, ics.ComponentPropertyDtStart, e.Start, zone, zoned)
	setClock(v, ics.ComponentPropertyDtEnd, e.Start.Add(stepLasts), zone, zoned)
	if !e.Cancelled {
		ring := v.AddAlarm()
		ring.SetAction(ics.ActionDisplay)
		ring.SetTrigger("PT0S")
		ring.SetProperty(ics.ComponentPropertyDescription, ics.ToText(text(e.Title)))
	}
	return v
}

func setClock(v *ics.VEvent, p ics.ComponentProperty, t time.Time, zone *time.Location, zoned bool) {
	if !zoned {
		v.SetProperty(p, t.UTC().Format(clockForm)+"Z")
		return
	}
	v.SetProperty(p, t.In(zone).Format(clockForm), ics.WithTZID(zone.String()))
}

// zoneOf describes the zone of the farm for the clock times of c: one
// observance from each change of the clock on (RFC 5545, 3.6.5). nil if no
// entry has a clock time, or if the zone has no name of its own: then times
// are UTC.
func zoneOf(c app.Calendar) *ics.VTimezone {
	var first, last time.Time
	for _, e := range c.Entries {
		if e.Days > 0 {
			continue
		}
		if first.IsZero() || e.Start.Before(first) {
			first = e.Start
		}
		if e.Start.Add(stepLasts).After(last) {
			last = e.Start.Add(stepLasts)
		}
	}
	name := c.Zone.String()
	if first.IsZero() || name == "UTC" || name == "Local" {
		return nil
	}
	z := ics.NewTimezone(name)
	for at := first; ; {
		begin, next := at.In(c.Zone).ZoneBounds()
		z.Components = append(z.Components, observance(at.In(c.Zone), begin))
		if next.IsZero() || next.After(last) {
			return z
		}
		at = next
	}
}

// observance is the time from begin on, which holds at t.
func observance(t, begin time.Time) ics.Component {
	_, to := t.Zone()
	abbreviation, _ := t.Zone()
	from, onset := to, time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC)
	if !begin.IsZero() {
		_, from = begin.Add(-time.Second).In(t.Location()).Zone()
		onset = begin.UTC().Add(time.Duration(from) * time.Second) // local time as it was before
	}
	var base *ics.ComponentBase
	var out ics.Component
	if t.IsDST() {
		d := &ics.Daylight{}
		base, out = &d.ComponentBase, d
	} else {
		s := &ics.Standard{}
		base, out = &s.ComponentBase, s
	}
	base.SetProperty(ics.ComponentPropertyDtStart, onset.Format(clockForm))
	base.SetProperty(ics.ComponentProperty(ics.PropertyTzoffsetfrom), offset(from))
	base.SetProperty(ics.ComponentProperty(ics.PropertyTzoffsetto), offset(to))
	base.SetProperty(ics.ComponentProperty(ics.PropertyTzname), abbreviation)
	return out
}

// offset prints seconds east of Greenwich as +0130.
func offset(seconds int) string {
	sign := "+"
	if seconds < 0 {
		sign, seconds = "-", -seconds
	}
	two := func(n int) string { return strconv.Itoa(100 + n)[1:] }
	out := sign + two(seconds/3600) + two(seconds/60%60)
	if s := seconds % 60; s > 0 {
		out += two(s)
	}
	return out
}

// text takes out control characters, which no text may hold (RFC 5545, 3.1);
// line breaks stay, they are escaped.
func text(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return r
		case r < ' ' || r == 0x7f:
			return -1
		}
		return r
	}, strings.ToValidUTF8(strings.ReplaceAll(s, "\r\n", "\n"), "\uFFFD"))
}
