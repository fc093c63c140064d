package app_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

func (b *bench) told() map[string]app.CalendarEntry {
	b.t.Helper()
	out := map[string]app.CalendarEntry{}
	for _, e := range must(b.Calendar(b.ctx))(b).Entries {
		if _, twice := out[e.UID]; twice {
			b.t.Errorf("%s stands twice", e.UID)
		}
		out[e.UID] = e
	}
	return out
}

// find returns the entry whose title holds all words.
func find(t *testing.T, all map[string]app.CalendarEntry, words ...string) app.CalendarEntry {
	t.Helper()
	for _, e := range all {
		fits := true
		for _, w := range words {
			fits = fits && strings.Contains(e.Title, w)
		}
		if fits {
			return e
		}
	}
	t.Fatalf("no entry with %q in %v", words, all)
	return app.CalendarEntry{}
}

// cordyceps stocks a culture whose windows are known.
func (b *bench) cordyceps(in app.PlanInput) app.PlanInput {
	b.t.Helper()
	b.supplies()
	must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-9", Form: "LC", Species: "Cordyceps militaris", Made: "2026-02-10"}))(b)
	in.Culture = "LC-9"
	return in
}

// TestCalendarFollowsTheRecords: an entry keeps its UID when jars drop out of
// it, its sequence number grows, and what falls away before its time is
// cancelled, not dropped. What was told is told again without a change.
func TestCalendarFollowsTheRecords(t *testing.T) {
	onBoth(t, func(b *bench) {
		in := b.cordyceps(plan("Oats or millet"))
		in.Shelves = nil
		k := must(b.KeepPlan(b.ctx, app.Act{}, in))(b)
		planned := find(t, b.told(), "Cook 1")
		b.step(lab.HeatOn, "")
		b.clock.minutes(20)
		b.mark(lab.Reached)
		running := b.told()
		hold := find(t, running, "Cook 1", "own rule is met")
		if want := time.Date(2026, 3, 2, 10, 20, 0, 0, time.UTC); !hold.Start.Equal(want) || hold.Days != 0 {
			t.Errorf("the hold is told for %s, want %s", hold.Start, want)
		}
		// At 420 m the core of a jar needs 68 min for what the rule gives at sea level.
		if advised := find(t, running, "Cook 1", "heat off"); !advised.Start.Equal(hold.Start.Add(8 * time.Minute)) {
			t.Errorf("the advised hold is told for %s, 8 min after the rule of %s", advised.Start, hold.Start)
		}
		if !running[planned.UID].Cancelled && !running[planned.UID].Start.Before(hold.Start) {
			t.Errorf("the planned cook stands as %+v beside the running one", running[planned.UID])
		}
		b.clock.minutes(30)
		b.mark(lab.Broken)
		if gone := b.told()[hold.UID]; !gone.Cancelled || gone.Sequence != hold.Sequence+1 {
			t.Errorf("after the pressure was lost the hold's end is told as %+v", gone)
		}
		b.mark(lab.Back)
		b.clock.minutes(60)
		b.mark(lab.HeatOff)
		b.clock.days(1)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL"}))(b)
		cover := find(t, b.told(), "full cover expected from today")
		if cover.Start.Format(time.DateOnly) != "2026-03-09" || cover.Days != 1 || !strings.Contains(cover.Text, "9–20 March, most likely the 13th, half of them 10–16 March, late from 24 March") {
			t.Errorf("full cover is told as %+v, want what 7 to 14 days from 3 March say before there is a batch of the farm", cover)
		}
		if again := b.told()[cover.UID]; again != cover {
			t.Errorf("told again it is %+v, want %+v", again, cover)
		}
		first := strings.SplitN(strings.TrimPrefix(jarsBut(b, k), "B1·"), "–", 2)[0]
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: "B1·" + first[:1], Fate: "lost", Reason: "fouled"}))(b)
		if less := b.told()[cover.UID]; less.Sequence != cover.Sequence+1 || less.Title == cover.Title || less.Cancelled {
			t.Errorf("after a loss it is told as %+v", less)
		}
		for _, e := range b.told() {
			if strings.Contains(e.Title+e.Text, "Oats or millet") || strings.Contains(e.Title+e.Text, "LC-9") {
				t.Errorf("a name is told: %+v", e)
			}
		}
	})
}

func TestCalendarKey(t *testing.T) {
	onBoth(t, func(b *bench) {
		opens := func(key string) bool { return must(b.OpensCalendar(b.ctx, key))(b) }
		if opens("") || must(b.HasCalendar(b.ctx))(b) {
			t.Error("a feed without a key is open")
		}
		first := must(b.NewCalendarKey(b.ctx, false))(b)
		if len(first) < 32 || !opens(first) || opens("") || opens(first+"x") {
			t.Errorf("the key %q does not open what it should, or too much", first)
		}
		second := must(b.NewCalendarKey(b.ctx, true))(b)
		if opens(first) || !opens(second) || must(b.Calendar(b.ctx))(b).Name != "Test farm" {
			t.Error("the new key did not take the place of the old one, or names are not told")
		}
		b.ok(b.StopCalendar(b.ctx))
		if opens(second) {
			t.Error("a closed feed is open")
		}
	})
}

// TestStageLimitsOfTheTrade: colonised late from day 22; pins late from day 29
// of light. On 24 March 2026 jar 1 (light 23 Feb, pins 19 March) is fine, jar
// 2 (light 23 Feb, no pins: day 29) is late, jar 3 (inoculated 9 Feb, not
// covered: day 43) is late, jar 4 (thrown out, green) has no flag and stays in
// the count. 11 jars that wait 10 days for a slow one wait 110 jar-days. A
// case from the trade.
func TestStageLimitsOfTheTrade(t *testing.T) {
	onBoth(t, func(b *bench) {
		in := b.cordyceps(plan("windows"))
		b.clock.days(-30) // 31 January
		in.Shelves = nil
		k := b.cooked(in, 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String(), At: "2026-02-01"}))(b)
		b.ok(b.SetStageLimits(b.ctx, "cover 22\npins 29"))
		var jars []string
		for _, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
			if !j.Blank {
				jars = append(jars, fmt.Sprintf("B1·%d", j.Number))
			}
		}
		b.clock.days(51) // 24 March
		see := func(jar int, stage, at string) {
			must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jars[jar-1], Stage: stage, At: at}))(b)
		}
		see(1, "light", "2026-02-23")
		see(1, "pins", "2026-03-19")
		see(2, "light", "2026-02-23")
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jars[3], Fate: "lost", Reason: "fouled", Sign: "green", At: "2026-02-20"}))(b)
		for i := 5; i <= 12; i++ {
			see(i, "cover", "2026-03-14")
		}
		day := must(b.Today(b.ctx))(b)
		late := map[string]string{}
		for _, x := range day.Late {
			late[x.Jars] = x.What + ": " + x.Why
		}
		if got := late[jars[1]]; !strings.Contains(got, "no pins: day 29 from in the light, late from day 29") {
			t.Errorf("jar 2 is %q", got)
		}
		if got := late[jars[2]]; !strings.Contains(got, "no full cover: day 51 from inoculation, late from day 22") {
			t.Errorf("jar 3 is %q", got)
		}
		if len(late) != 2 || late[jars[0]]+late[jars[3]] != "" {
			t.Errorf("late are %v, want jars 2 and 3 alone", late)
		}
		light := 0
		for _, x := range day.Due {
			if x.See == "stage:light" {
				light += x.Count
				if !strings.Contains(x.Why, "80 jar-days of waiting") {
					t.Errorf("the covered jars wait as %q, want 8 jars × 10 days", x.Why)
				}
			}
		}
		if light != 8 {
			t.Errorf("%d jars are to be moved to light, want 8: the slow one holds up none", light)
		}
		if v := must(b.BatchView(b.ctx, "B1", 0))(b); v.Tally.Jars != 12 || v.Tally.Lost != 1 {
			t.Errorf("the count is %+v, want the lost jar in it", v.Tally)
		}
	})
}

// TestBlanksAreAskedForUntilRead: on day 7 and again on day 14 after the cook.
func TestBlanksAreAskedForUntilRead(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("blanks")
		in.BlanksPerCook = 2
		in.Cooks[0].Places = []int{7, 7}
		b.cooked(in, 60) // a day has gone by
		read := func() (app.Task, bool, bool) {
			day := must(b.Today(b.ctx))(b)
			for i, x := range append(append([]app.Task{}, day.Late...), day.Due...) {
				if strings.HasPrefix(x.What, "Read the blanks") {
					return x, true, i < len(day.Late)
				}
			}
			return app.Task{}, false, false
		}
		b.clock.days(5)
		if _, asked, _ := read(); asked {
			t.Error("blanks are asked for on day 6")
		}
		b.clock.days(1)
		x, asked, late := read()
		if !asked || late || x.Count != 2 || !strings.Contains(x.More, "49 %") {
			t.Errorf("on day 7: %+v, late %v; want two blanks, and that they miss 0.7² = 49 %%", x, late)
		}
		b.clock.days(3)
		if _, asked, late := read(); !asked || !late {
			t.Error("blanks that nobody read on day 7 are not late on day 10")
		}
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: x.Jars, Sign: "clean"}))(b)
		if _, asked, _ := read(); asked {
			t.Error("blanks that were read are asked for")
		}
		b.clock.days(4)
		if x, asked, late := read(); !asked || late || !strings.Contains(x.Why, "day 14") {
			t.Errorf("on day 14: %+v asked %v late %v", x, asked, late)
		}
	})
}

// TestChoresComeAgain: a chore is asked for after the days that the grower
// set, on the jars on which it was not done since, and is done by its note.
func TestChoresComeAgain(t *testing.T) {
	onBoth(t, func(b *bench) {
		in := b.cordyceps(plan("chores"))
		in.Shelves = nil
		k := b.cooked(in, 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		b.ok(b.SetStageLimits(b.ctx, "air 3\ncheck 30"))
		air := func() (count int, late bool) {
			day := must(b.Today(b.ctx))(b)
			for i, x := range append(append([]app.Task{}, day.Late...), day.Due...) {
				if x.See == "note:aired" {
					count, late = count+x.Count, late || i < len(day.Late)
				}
			}
			return count, late
		}
		b.clock.days(2)
		if n, _ := air(); n != 0 {
			t.Errorf("%d jars are to be aired on day 2", n)
		}
		b.clock.days(1)
		if n, late := air(); n != 12 || late {
			t.Errorf("%d jars are to be aired on day 3, late %v; want 12", n, late)
		}
		one := "B1·" + strings.FieldsFunc(strings.TrimPrefix(jarsBut(b, k), "B1·"), func(r rune) bool { return r < '0' || r > '9' })[0]
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: one, Note: "aired"}))(b)
		b.clock.days(1)
		if n, late := air(); n != 11 || !late {
			t.Errorf("%d jars are to be aired, late %v; want 11 without %s", n, late, one)
		}
	})
}
