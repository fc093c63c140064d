package app

import (
	"cmp"
	"context"
	"crypto/subtle"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// CalendarEntry is one thing of the feed: a chore or stage on a day, or a
// step of a running cook at a clock time.
type CalendarEntry struct {
	UID       string    `json:"uid"`
	Sequence  int       `json:"sequence"` // grows with every change that was told
	Changed   time.Time `json:"changed"`
	Start     time.Time `json:"start"` // of a whole day, its midnight UTC
	Days      int       `json:"days"`  // 0: a step at a clock time
	Title     string    `json:"title"` // of the cook, the batch by its number, the jars
	Text      string    `json:"text"`  // why
	Page      string    `json:"page"`  // path of the page that it is about
	Cancelled bool      `json:"cancelled"`
}

// Calendar is what the feed tells.
type Calendar struct {
	Name    string
	Zone    *time.Location
	Entries []CalendarEntry
}

// The settings of the feed.
const (
	settingFeedKey   = "calendar_key"   // hash of the secret part of the address, "" while there is none
	settingFeedNames = "calendar_names" // "yes" if names of batches and of the farm are told
	settingFeedTold  = "calendar_told"  // what was told last, so that changes and cancellations can be
)

// toldFor is how long the feed remembers what is past or cancelled.
const toldFor = 60 * 24 * time.Hour

// NewCalendarKey makes a new secret for the address of the feed and returns
// it; only its hash is kept, and the address before it opens nothing more.
func (f *Farm) NewCalendarKey(ctx context.Context, names bool) (string, error) {
	var b [24]byte
	if _, err := io.ReadFull(f.chance, b[:]); err != nil {
		return "", fmt.Errorf("draw a key: %w", err)
	}
	key := base64.RawURLEncoding.EncodeToString(b[:])
	told := ""
	if names {
		told = "yes"
	}
	return key, f.store.Write(ctx, func(w store.Writer) error {
		if err := w.SetSetting(ctx, settingFeedNames, told); err != nil {
			return err
		}
		return w.SetSetting(ctx, settingFeedKey, hashOf(key))
	})
}

// StopCalendar closes the feed.
func (f *Farm) StopCalendar(ctx context.Context) error {
	return f.store.Write(ctx, func(w store.Writer) error { return w.SetSetting(ctx, settingFeedKey, "") })
}

// HasCalendar reports whether the feed has an address.
func (f *Farm) HasCalendar(ctx context.Context) (bool, error) {
	kept, err := f.setting(ctx, settingFeedKey)
	return kept != "", err
}

// OpensCalendar reports whether key is the secret of the feed.
func (f *Farm) OpensCalendar(ctx context.Context, key string) (bool, error) {
	kept, err := f.setting(ctx, settingFeedKey)
	return kept != "" && subtle.ConstantTimeCompare([]byte(kept), []byte(hashOf(key))) == 1, err
}

func (f *Farm) setting(ctx context.Context, name string) (value string, err error) {
	err = f.store.Read(ctx, func(r store.Reader) error {
		value, err = r.Setting(ctx, name)
		return err
	})
	return value, err
}

// Calendar returns what the feed tells now. It is compared with what was told
// last: what changed gets the next sequence number, and what fell away before
// its time is cancelled. The same records give the same feed.
func (f *Farm) Calendar(ctx context.Context) (Calendar, error) {
	c, before, err := f.readCalendar(ctx)
	if err != nil {
		return c, err
	}
	entries, changed := f.tell(before, c.Entries)
	c.Entries = entries
	if !changed {
		return c, nil
	}
	kept, err := json.Marshal(entries)
	if err != nil {
		return c, err
	}
	return c, f.store.Write(ctx, func(w store.Writer) error { return w.SetSetting(ctx, settingFeedTold, string(kept)) })
}

func (f *Farm) readCalendar(ctx context.Context) (c Calendar, before []CalendarEntry, err error) {
	alarms, err := f.Alarms(ctx)
	if err != nil {
		return c, nil, err
	}
	err = f.store.Read(ctx, func(r store.Reader) error {
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		names, err := r.Setting(ctx, settingFeedNames)
		if err != nil {
			return err
		}
		c.Name, c.Zone = "Pinset", s.Zone
		if names == "yes" && s.Name != "" {
			c.Name = s.Name
		}
		told, err := r.Setting(ctx, settingFeedTold)
		if err != nil {
			return err
		}
		if told != "" {
			if err := json.Unmarshal([]byte(told), &before); err != nil {
				return fmt.Errorf("what the calendar feed told last: %w", err)
			}
		}
		c.Entries, err = f.calendarEntries(ctx, r, s.Zone, names == "yes")
		return err
	})
	for _, a := range alarms {
		if !a.Answered {
			c.Entries = append(c.Entries, alarmEntry(a))
		}
	}
	return c, before, err
}

func alarmEntry(a Alarm) CalendarEntry {
	return CalendarEntry{
		UID: fmt.Sprintf("cook-%d-%s", a.Cook, a.ID), Start: a.At.UTC().Truncate(time.Second),
		Title: fmt.Sprintf("Cook %d: %s", a.Cook, a.What), Text: a.Why, Page: fmt.Sprintf("cooks/%d", a.Cook),
	}
}

// tell compares what holds now with what was told last.
func (f *Farm) tell(before, now []CalendarEntry) (entries []CalendarEntry, changed bool) {
	at := f.clock()
	known := make(map[string]CalendarEntry, len(before))
	for _, e := range before {
		known[e.UID] = e
	}
	for _, e := range now {
		old, told := known[e.UID]
		delete(known, e.UID)
		e.Start = e.Start.UTC()
		e.Sequence, e.Changed = old.Sequence, old.Changed
		if e != old {
			changed, e.Changed = true, at
			if told {
				e.Sequence++
			}
		}
		entries = append(entries, e)
	}
	for _, e := range before {
		if _, gone := known[e.UID]; !gone {
			continue
		}
		if at.Sub(e.Changed) > toldFor && at.Sub(e.Start) > toldFor {
			changed = true
			continue
		}
		// What was due before is left as it was told: it is history.
		if !e.Cancelled && !e.over(at) {
			changed, e.Cancelled, e.Changed = true, true, at
			e.Sequence++
		}
		entries = append(entries, e)
	}
	slices.SortFunc(entries, func(a, b CalendarEntry) int {
		return cmp.Or(a.Start.Compare(b.Start), cmp.Compare(a.UID, b.UID))
	})
	return entries, changed
}

// over reports whether the time of e has passed.
func (e CalendarEntry) over(at time.Time) bool {
	if e.Days == 0 {
		return !at.Before(e.Start)
	}
	return !at.Before(e.Start.AddDate(0, 0, e.Days))
}

// calendarEntries gathers what has a day: cooks that are planned, blanks,
// stages and chores, closing days, and cultures to renew.
func (f *Farm) calendarEntries(ctx context.Context, r store.Reader, zone *time.Location, names bool) ([]CalendarEntry, error) {
	batches, err := f.openRows(ctx, r)
	if err != nil {
		return nil, err
	}
	cooks, err := f.cookLoads(ctx, r)
	if err != nil {
		return nil, err
	}
	blanks, err := f.blanksOf(ctx, r, cooks)
	if err != nil {
		return nil, err
	}
	g, err := f.readGrowing(ctx, r, batches, zone)
	if err != nil {
		return nil, err
	}
	out := cookDays(cooks.rows, zone)
	out = append(out, blankEntries(blanks, zone)...)
	expected, err := g.expected(func(Expected) bool { return true })
	if err != nil {
		return nil, err
	}
	taken := make(map[string]int, len(expected))
	for _, e := range expected {
		entry := e.entry(names)
		if taken[entry.UID]++; taken[entry.UID] > 1 {
			entry.UID = fmt.Sprintf("%s-%d", entry.UID, taken[entry.UID]) // jars of another recipe
		}
		out = append(out, entry)
	}
	for _, b := range batches {
		if !b.Closing.IsZero() && b.Tally.Growing > 0 {
			out = append(out, CalendarEntry{
				UID: "closes-" + string(b.ID), Start: b.Closing.Time, Days: 1, Title: titleOf(b.Batch, names) + " closes",
				Text: "What still grows counts as barren after it.", Page: "batches/" + b.String(),
			})
		}
	}
	return f.renewals(ctx, r, out, names)
}

// titleOf names a batch: by its number alone unless names are wished.
func titleOf(b lab.Batch, names bool) string {
	if names {
		return b.Title()
	}
	return b.String()
}

func cookDays(cooks []CookRow, zone *time.Location) []CalendarEntry {
	var out []CalendarEntry
	for _, c := range cooks {
		if day, known := c.Day.Day(zone); known && c.State == lab.Unmarked && len(c.Stretches) == 0 {
			out = append(out, CalendarEntry{
				UID: "cook-" + string(c.ID), Start: day, Days: 1, Title: fmt.Sprintf("Cook %d", c.Number),
				Text: manyJars(c.Jars, "is planned for it", "are planned for it") + ".", Page: fmt.Sprintf("cooks/%d", c.Number),
			})
		}
	}
	return out
}

func blankEntries(blanks []cookBlanks, zone *time.Location) []CalendarEntry {
	var out []CalendarEntry
	for _, c := range blanks {
		cooked, known := c.Cook.Day.Day(zone)
		for _, d := range blankDays {
			day := cooked.AddDate(0, 0, d)
			if known && c.Read.Before(day) {
				out = append(out, CalendarEntry{
					UID: fmt.Sprintf("blanks-%s-%s-%d", c.Cook.ID, c.Batch.ID, d), Start: day, Days: 1,
					Title: fmt.Sprintf("Read the blanks of cook %d: %s", c.Cook.Number, c.span()), Text: c.says(),
					Page: "batches/" + c.Batch.String() + "/rounds",
				})
			}
		}
	}
	return out
}

// entry tells a window by its first day: a bar over weeks hides the day. Jars that wait for
// light stand on the day after they were covered.
func (e Expected) entry(names bool) CalendarEntry {
	c := CalendarEntry{Days: 1, Page: "batches/" + e.Batch.String() + "/rounds"}
	jars := titleOf(e.Batch, names) + "·" + lab.ShowNumbers(e.Numbers)
	shelf := ""
	if names && e.Shelf != "" {
		shelf = " Shelf " + e.Shelf + "."
	}
	key := fmt.Sprintf("%s-%s-%s", e.Batch.ID, e.Since.Format("20060102"), hashOf(e.Shelf)[:6])
	if e.Move {
		c.UID, c.Start, c.Title = "light-"+key, e.day(1), jars+" to light"
		c.Text = "Covered since " + e.Since.Format("2 January") + "." + shelf
		return c
	}
	w := e.Window
	if e.Chore != "" {
		c.UID, c.Start, c.Title = string(e.Chore)+"-"+key, e.day(w.From), e.Chore.Label()+" "+jars
		c.Text = fmt.Sprintf("Every %d days, last on %s.%s", w.From, e.Since.Format("2 January"), shelf)
		return c
	}
	c.UID, c.Start = string(w.Stage)+"-"+key, e.day(w.From)
	c.Title = fmt.Sprintf("%s: %s expected from today", jars, w.Stage.Label())
	c.Text = fmt.Sprintf("Expected %s; %s.%s", e.when(), e.rests(), shelf)
	if w.Late > 0 {
		c.Text = fmt.Sprintf("Expected %s, late from %s; %s.%s", e.when(), e.day(w.Late).Format("2 January"), e.rests(), shelf)
	}
	return c
}

func (f *Farm) renewals(ctx context.Context, r store.Reader, out []CalendarEntry, names bool) ([]CalendarEntry, error) {
	rows, _, err := f.standingCultures(ctx, r)
	if err != nil {
		return nil, err
	}
	for _, c := range rows {
		if c.Due.IsZero() {
			continue
		}
		what := "Renew a culture"
		if names {
			what = "Renew " + c.Name
		}
		day := lab.OnDay(c.Due)
		out = append(out, CalendarEntry{UID: "renew-" + string(c.ID), Start: day.Time, Days: 1, Title: what, Text: "It is due by how it is stored.", Page: "cultures"})
	}
	return out, nil
}
