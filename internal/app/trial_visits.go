package app

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"pinset/internal/calc/growth"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// visit is what one day's looks at a jar came to.
type visit struct {
	day     int // from inoculation
	rank    int // of the furthest stage that was seen, -1 if none
	covered int // per cent, 0 is not read
	other   int // another cover that was read on the same day
	picked  bool
	lost    bool
	foul    bool // a sign of mould or rot
}

// entered is the furthest of a day as it was entered: a cover is first growth
// too, but nobody finds it by that name. There is one.
func (v visit) entered() string {
	if v.covered > 0 && v.covered < 100 && lab.Stages[v.rank] == lab.Growth {
		return fmt.Sprintf("%d %% covered", v.covered)
	}
	return lab.Stages[v.rank].Label()
}

// span is when a stage came: after the last visit without it, by the first
// with it. Days from inoculation.
type span struct{ after, by float64 }

// jarCourse is what the visits of one jar say.
type jarCourse struct {
	jar     store.JarRow
	name    string
	came    map[lab.Stage]span
	skipped []lab.Stage        // never seen, though a later one was
	asked   map[lab.Stage]bool // a question is open: left out of this stage
	last    float64            // the last visit
	good    float64            // the last before it was lost or looked fouled
	covers  []growth.GrowRow
}

// DayQuestion is something about days that contradicts itself. It is asked
// about, never mended.
type DayQuestion struct {
	Jar  string   `json:"jar"`  // "B12·13"; "" if it is about several
	Code lab.Code `json:"code"` // of the jar
	Text string   `json:"text"`
	Out  bool     `json:"left_out"` // the jar is left out of a stage or of the cover until it is answered
}

// Says tells the question with its jar.
func (q DayQuestion) Says() string {
	text := q.Text
	if q.Jar != "" {
		text = q.Jar + ": " + text
	}
	if q.Out {
		text += " Until then it is left out."
	}
	return text
}

// coursesOf reads the visits of the jars of a trial.
func coursesOf(ev evidence) ([]jarCourse, []DayQuestion) {
	var out []jarCourse
	ask := []DayQuestion{}
	undated := 0
	for _, j := range ev.jars {
		if j.Blank || j.Inoculated.IsZero() {
			continue
		}
		c := jarCourse{
			jar: j, name: fmt.Sprintf("%s·%d", ev.batches[j.Batch], j.Number), came: make(map[lab.Stage]span), asked: make(map[lab.Stage]bool),
		}
		begun, ok := j.Inoculated.Day(ev.zone)
		if !ok {
			ask = append(ask, c.question(true, "It is not known on which day it was inoculated, so its days can not be counted."))
			continue
		}
		visits, without := visitsOf(ev.past[j.Jar.ID].looks, begun, ev.zone)
		undated += without
		ask = append(ask, c.walk(visits)...)
		out = append(out, c)
	}
	if undated > 0 {
		ask = append(ask, DayQuestion{Text: fmt.Sprintf("%s no day and can not be counted. When were they?", figure.Count(undated, "entry has", "entries have"))})
	}
	return out, ask
}

// visitsOf joins the looks at a jar by day, the earliest first, and counts those
// without a day.
func visitsOf(looks []look, begun time.Time, zone *time.Location) (visits []visit, undated int) {
	for _, l := range looks {
		d, ok := l.when().Day(zone)
		if !ok {
			undated++
			continue
		}
		day := int(math.Round(d.Sub(begun).Hours() / 24))
		i := slices.IndexFunc(visits, func(v visit) bool { return v.day == day })
		if i < 0 {
			i = len(visits)
			visits = append(visits, visit{day: day, rank: -1})
		}
		visits[i].add(l)
	}
	slices.SortFunc(visits, func(a, b visit) int { return cmp.Compare(a.day, b.day) })
	return visits, undated
}

// add joins a look to those of the same day.
func (v *visit) add(l look) {
	v.rank = max(v.rank, int(l.rank))
	v.lost, v.foul, v.picked = v.lost || l.lost, v.foul || l.foul, v.picked || l.picked
	covered := int(l.covered)
	switch {
	case covered > 0 && v.covered > 0 && covered != v.covered:
		v.other = covered
	case covered > 0:
		v.covered = covered
	}
}

func (c *jarCourse) question(out bool, format string, args ...any) DayQuestion {
	return DayQuestion{Jar: c.name, Code: c.jar.Code, Text: fmt.Sprintf(format, args...), Out: out}
}

// walk fills the course and returns what is to be asked about it. A later
// stage tells of the earlier ones, a pick of all; after the first pick the
// next flush begins, and stages are no longer followed.
func (c *jarCourse) walk(visits []visit) []DayQuestion {
	var ask []DayQuestion
	furthest, furthestDay, gone := -1, 0, -1
	picked, as := false, "" // as what the furthest was entered
	seen := make(map[int]bool)
	for _, v := range visits {
		if v.day <= 0 {
			if v.rank >= 0 {
				ask = append(ask, c.question(true, "It showed %s on the day of its inoculation or before. Which of the two days is right?", v.entered()))
				c.ask(0, v.rank)
			}
			continue
		}
		if v.rank >= 0 && gone >= 0 {
			ask = append(ask, c.question(true, "It showed %s on day %d, after it was lost on day %d. Was it lost?", v.entered(), v.day, gone))
			c.ask(0, v.rank)
		}
		if !picked && v.rank >= 0 && v.rank < furthest {
			ask = append(ask, c.question(true, "It showed %s on day %d and only %s on day %d, which is later. Which of the two visits is right?",
				as, furthestDay, v.entered(), v.day))
			c.ask(v.rank+1, furthest)
		}
		for rank := furthest + 1; rank <= v.rank; rank++ {
			c.came[lab.Stages[rank]] = span{c.last, float64(v.day)}
		}
		seen[v.rank] = true
		if v.rank > furthest {
			furthest, furthestDay, as = v.rank, v.day, v.entered()
		}
		picked = picked || v.picked
		ask = append(ask, c.read(v, picked)...)
		c.last = float64(v.day)
		if v.lost && c.jar.Fate == lab.Lost {
			gone = v.day
		} else if !v.foul && gone < 0 {
			c.good = c.last
		}
	}
	for rank := range furthest {
		if s := lab.Stages[rank]; !seen[rank] && s != lab.Light && s != lab.Ready && !c.asked[s] {
			c.skipped = append(c.skipped, s)
		}
	}
	return ask
}

// ask leaves the jar out of the stages from one rank to another.
func (c *jarCourse) ask(from, to int) {
	for rank := from; rank <= to; rank++ {
		c.asked[lab.Stages[rank]] = true
	}
}

// read keeps the cover of a visit. Nothing seen yet is a cover of 0 %.
func (c *jarCourse) read(v visit, picked bool) []DayQuestion {
	row := growth.GrowRow{Jar: label(c.name), Arm: label(c.jar.Arm), Day: float64(v.day), CoverPct: float64(v.covered)}
	full := len(c.covers) > 0 && c.covers[len(c.covers)-1].CoverPct == 100
	switch {
	case v.other > 0:
		return []DayQuestion{c.question(false, "On day %d its cover was read twice, as %d %% and %d %%. The first is taken; which is right?", v.day, v.covered, v.other)}
	case v.covered > 0 && !full, v.rank < 0 && len(c.came) == 0 && !v.lost && !v.foul && !picked:
		c.covers = append(c.covers, row)
	}
	return nil
}

// skippedQuestions names those of some stages that were never seen on jars
// that went further.
func skippedQuestions(courses []jarCourse, stages []lab.Stage) []DayQuestion {
	var ask []DayQuestion
	for _, s := range stages {
		var names []string
		for _, c := range courses {
			if slices.Contains(c.skipped, s) {
				names = append(names, c.name)
			}
		}
		if len(names) > 0 {
			ask = append(ask, DayQuestion{Text: fmt.Sprintf("%s went further and %s never seen with %s: %s. It is taken to have come between the visit before and the first later stage. Was it seen?",
				figure.Count(len(names), "jar", "jars"), map[bool]string{true: "was", false: "were"}[len(names) == 1], s.Label(), shortList(names))})
		}
	}
	return ask
}

// shortList names at most six.
func shortList(names []string) string {
	const most = 6
	text := ""
	for i, n := range names[:min(most, len(names))] {
		if i > 0 {
			text += ", "
		}
		text += n
	}
	if more := len(names) - most; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}
