package app

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"

	"pinset/internal/calc/forecast"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// course is how one batch came along, in days since it was inoculated.
type course struct {
	batch   lab.Batch
	culture lab.CultureID
	version lab.RecipeVersionID
	recipe  lab.RecipeID                // of version, "" if it was not said
	profile lab.Profile                 // of the culture's species
	begun   time.Time                   // the middle day of inoculation
	seen    float64                     // the last visit
	open    bool                        // some jars still grow
	gone    bool                        // all jars were lost
	came    map[lab.Stage]forecast.Span // half of the living jars had come
}

// learnBatches bounds the batches that forecasts learn from and are judged by,
// the newest first.
const learnBatches = 60

// readCourses reads how the batches came along, by sums over their jars and
// not by what was seen of each. r must not write. Batches without a jar that
// was inoculated on a known day are left out.
func (f *Farm) readCourses(ctx context.Context, r store.Reader, batches []lab.Batch, zone *time.Location) ([]course, error) {
	ids := each(batches, func(b lab.Batch) lab.BatchID { return b.ID })
	came, err := f.memo.courses.get(ctx, r, ids, zone.String(), func(ctx context.Context, ids []lab.BatchID) (map[lab.BatchID]*course, error) {
		return batchCourses(ctx, r, ids, zone)
	})
	if err != nil {
		return nil, err
	}
	wants, err := f.readProfiles(ctx, r)
	if err != nil {
		return nil, err
	}
	lines, err := r.RecipeLines(ctx)
	if err != nil {
		return nil, err
	}
	var out []course
	for _, b := range batches {
		if came[b.ID] == nil {
			continue
		}
		c := *came[b.ID]
		c.batch, c.profile, c.recipe = b, wants.byCulture[c.culture], lines[c.version]
		c.open = c.open && !b.Closing.Passed(f.now())
		out = append(out, c)
	}
	return out, nil
}

// batchCourses reads the courses of batches that have one.
func batchCourses(ctx context.Context, r store.Reader, ids []lab.BatchID, zone *time.Location) (map[lab.BatchID]*course, error) {
	parts, err := r.Courses(ctx, ids)
	if err != nil {
		return nil, err
	}
	arrivals, err := r.Arrivals(ctx, ids)
	if err != nil {
		return nil, err
	}
	partsOf := groupBy(parts, func(c store.Course) lab.BatchID { return c.Batch })
	arrivalsOf := groupBy(arrivals, func(a store.Arrival) lab.BatchID { return a.Batch })
	out := make(map[lab.BatchID]*course, len(partsOf))
	for id, of := range partsOf {
		if c, ok := courseOf(of, arrivalsOf[id], zone); ok {
			c.culture, c.version = of[0].Carries, of[0].Recipe
			out[id] = &c
		}
	}
	return out, nil
}

// courseOf puts together what the jars of one batch came to.
func courseOf(parts []store.Course, arrivals []store.Arrival, zone *time.Location) (course, bool) {
	c := course{came: make(map[lab.Stage]forecast.Span)}
	var days []time.Time
	jars, lost := 0, 0
	for _, p := range parts {
		jars += p.Jars
		if p.Fate == lab.Lost {
			lost += p.Jars
		}
		c.open = c.open || p.Fate == lab.Growing
		if d, ok := p.Inoculated.Day(zone); ok {
			for range p.Jars {
				days = append(days, d)
			}
		}
	}
	if len(days) == 0 {
		return c, false
	}
	c.gone = lost == jars
	slices.SortFunc(days, time.Time.Compare)
	c.begun = days[len(days)/2]
	for _, p := range parts {
		if d, ok := p.LastSeen.Day(zone); ok {
			c.seen = math.Max(c.seen, daysBetween(c.begun, d))
		}
	}
	for stage, of := range groupBy(arrivals, func(a store.Arrival) lab.Stage { return a.Stage }) {
		if span, ok := halfCame(of, jars, lost, c.begun, zone); ok {
			c.came[stage] = span
			c.seen = math.Max(c.seen, span.By)
		}
	}
	return c, true
}

func daysBetween(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 }

// halfCame returns between which days half of the jars that lived had come to
// a stage, and whether they have. A jar that was lost before is left out.
func halfCame(arrivals []store.Arrival, jars, lost int, begun time.Time, zone *time.Location) (forecast.Span, bool) {
	type group struct {
		span forecast.Span
		jars int
	}
	var groups []group
	for _, a := range arrivals {
		by, ok := a.By.Day(zone)
		if !ok || by.Before(begun) {
			continue
		}
		g := group{forecast.Span{By: math.Max(daysBetween(begun, by), firstDay)}, a.Jars}
		if before, ok := a.Before.Day(zone); ok {
			g.span.After = math.Min(math.Max(daysBetween(begun, before), 0), g.span.By)
		}
		groups = append(groups, g)
		if a.Fate == lab.Lost {
			lost -= a.Jars
		}
	}
	half := (jars - lost + 1) / 2
	slices.SortFunc(groups, func(a, b group) int {
		return cmp.Or(cmp.Compare(a.span.By, b.span.By), cmp.Compare(a.span.After, b.span.After))
	})
	for _, g := range groups {
		if half -= g.jars; half <= 0 {
			return g.span, true
		}
	}
	return forecast.Span{}, false
}

// firstDay stands for a stage that was seen on the day from which days count.
const firstDay = 0.5

// lasted returns how long the batch took from the first sight of one stage to
// another, and whether both were seen on visits of their own. "" is the
// inoculation.
func (c course) lasted(after, stage lab.Stage) (forecast.Span, bool) {
	s, ok := c.came[stage]
	if rarelyLogged(stage) {
		ok = c.logged(stage)
	}
	if !ok || after == "" {
		return s, ok
	}
	from, ok := c.came[after]
	if !ok || s.By <= from.By {
		return forecast.Span{}, false
	}
	return forecast.Span{After: math.Max(s.After-from.By, 0), By: s.By - from.By}, true
}

// rarelyLogged reports whether few growers log a stage: that it is missing, or
// first told by a later one, says nothing.
func rarelyLogged(stage lab.Stage) bool { return stage == lab.Growth || stage == lab.Colour }

// logged reports whether a stage was seen on a visit that did not show a later
// one too.
func (c course) logged(stage lab.Stage) bool {
	s, ok := c.came[stage]
	for _, later := range lab.Stages[slices.Index(lab.Stages, stage)+1:] {
		if x, came := c.came[later]; came && x.By <= s.By {
			return false
		}
	}
	return ok
}

// anchors are the stages from which days to a later one are counted, the last
// that was seen of them.
var anchors = []lab.Stage{lab.Pins, lab.Light, lab.Cover, ""}

// anchor returns the stage from which the days to a later one count now, and
// its day.
func (c course) anchor(stage lab.Stage) (lab.Stage, float64) {
	for _, a := range anchors {
		if a == "" {
			break
		}
		if span, ok := c.came[a]; ok && slices.Index(lab.Stages, a) < slices.Index(lab.Stages, stage) {
			return a, span.By
		}
	}
	return "", 0
}
