package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"pinset/internal/calc/forecast"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// StageWindow is when a stage is expected: of a batch the day on which half of
// its living jars have come to it, of a jar its own.
type StageWindow struct {
	Stage    lab.Stage
	After    lab.Stage // days count from the first sight of it; "" is the inoculation
	Since    time.Time // that day
	From, To time.Time // 4 of 5 come within
	Likely   time.Time // the middle
	NearFrom time.Time // half come within
	NearTo   time.Time
	Own      float64 // how far it leans on batches of the same recipe, 0..1
	Batches  int     // of that recipe that came to the stage
	Late     bool    // less than 1 in 20 would still be without it
	Books    [2]int  // published days from After; 0 if none are
	Source   string  // of the published days
}

// Says tells the window in words: "pins 18–24 June, most likely the 21st".
func (w StageWindow) Says() string {
	return w.Stage.Label() + " " + w.When()
}

// When tells the days of both windows: "18–24 June, most likely the 21st,
// half of them 19–22 June".
func (w StageWindow) When() string {
	text := sayDays(w.From, w.To, w.Likely)
	if half := w.Half(); half != "" {
		text += ", half of them " + half
	}
	return text
}

// FromTo tells between which days 4 of 5 come: "18–24 June".
func (w StageWindow) FromTo() string { return sayFromTo(w.From, w.To) }

// Half tells between which days half of them come, "" if all come on one day.
func (w StageWindow) Half() string {
	if w.From.Equal(w.To) {
		return ""
	}
	return sayFromTo(w.NearFrom, w.NearTo)
}

func sayDays(from, to, likely time.Time) string {
	span := sayFromTo(from, to)
	switch {
	case from.Equal(to):
		return span
	case likely.Month() == to.Month():
		return span + ", most likely the " + ordinal(likely.Day())
	}
	return span + ", most likely " + likely.Format("2 January")
}

// sayFromTo writes two days: "18–24 June", "30 May – 4 June", "18 June".
func sayFromTo(from, to time.Time) string {
	day := "2 January"
	if from.Year() != to.Year() {
		day = "2 January 2006"
	}
	switch {
	case from.Equal(to):
		return from.Format(day)
	case from.Year() == to.Year() && from.Month() == to.Month():
		return from.Format("2") + "–" + to.Format(day)
	}
	return from.Format(day) + " – " + to.Format(day)
}

// ordinal writes the day of a month: 1st, 2nd, 3rd, 11th, 21st.
func ordinal(day int) string {
	ending := "th"
	if day < 11 || day > 13 {
		switch day % 10 {
		case 1:
			ending = "st"
		case 2:
			ending = "nd"
		case 3:
			ending = "rd"
		}
	}
	return fmt.Sprint(day) + ending
}

// Rests tells what a window rests on.
func (w StageWindow) Rests() string {
	book := ""
	if w.Source != "" {
		book = fmt.Sprintf("published %s days (%s)", spanOfDays(w.Books[0], w.Books[1]), w.Source)
	}
	own := figure.Count(w.Batches, "batch", "batches") + " of this recipe"
	switch {
	case w.Batches == 0 && book == "":
		return "from your other recipes"
	case w.Batches == 0:
		return "from " + book
	case book == "" || w.mostlyOwn():
		return "mostly from " + own
	}
	return "from " + own + " and " + book
}

// mostlyOwn reports whether it leans on batches of the same recipe more than on
// anything else.
func (w StageWindow) mostlyOwn() bool { return w.Own >= 0.5 }

func spanOfDays(low, high int) string {
	if low == high {
		return fmt.Sprint(low)
	}
	return fmt.Sprintf("%d to %d", low, high)
}

// forecastStages are the stages that come by themselves, in their order. The
// move to light is the grower's own deed and not forecast.
var forecastStages = []lab.Stage{lab.Growth, lab.Cover, lab.Colour, lab.Pins, lab.Ready}

// vagueBook is how far the middle of the own batches may be off where nothing
// is published: a factor of about 7 either way.
const vagueBook = 1.0

// fewOwn is how many own batches make a beginning where nothing is published.
const fewOwn = 2

// jarSpread is how far jars scatter about the middle of their batch, in log
// days. Published: bags of one experiment by 4 to 9 % (five bags of oyster on
// waste paper, means and standard deviations of its phases).
const jarSpread = 0.07

// leg is from one stage to a later one in one species.
type leg struct {
	species      string // as lab.NameKey makes it
	after, stage lab.Stage
	books        [2]int // published days, which may be those of a strain
	source       string // of these
}

// forecaster holds what the courses of past batches say, and fits each
// leg once, when it is first asked for. It is not safe for two at once.
type forecaster struct {
	courses []course
	fits    map[leg]*fit
	memo    *memo
}

// fit is what is known of one leg.
type fit struct {
	model  *forecast.Model // nil if there is nothing to begin from
	shared *sharedFit      // of model
	prior  forecast.Prior
	books  [2]int
	source string
	groups [][]forecast.Span
	index  map[lab.RecipeID]int
}

func (f *Farm) newForecaster(courses []course) *forecaster {
	return &forecaster{courses, make(map[leg]*fit), f.memo}
}

// fit returns what is known of a leg in the species of a profile.
func (l *forecaster) fit(p lab.Profile, after, stage lab.Stage) (*fit, error) {
	key := leg{species: lab.NameKey(p.Species), after: after, stage: stage}
	if days, source, ok := p.Published(after, stage); ok {
		key.books, key.source = days, source
	}
	if x, ok := l.fits[key]; ok {
		return x, nil
	}
	x := &fit{books: key.books, source: key.source, index: make(map[lab.RecipeID]int)}
	var own []float64
	for _, c := range l.courses {
		if lab.NameKey(c.profile.Species) != key.species {
			continue
		}
		i, ok := x.index[c.recipe]
		if !ok {
			i = len(x.groups)
			x.index[c.recipe] = i
			x.groups = append(x.groups, nil)
		}
		if span, ok := c.lasted(after, stage); ok {
			x.groups[i] = append(x.groups[i], span)
			if !span.Wide() {
				own = append(own, (span.After+span.By)/2)
			}
		}
	}
	l.fits[key] = x
	return x, x.begin(l.memo, own)
}

// begin fits the model, beginning from what is published, else from the middle
// of the own batches.
func (x *fit) begin(m *memo, own []float64) error {
	switch {
	case x.source != "":
		x.prior = forecast.PublishedPrior(float64(x.books[0]), float64(x.books[1]))
	case len(own) >= fewOwn:
		slices.Sort(own)
		x.prior = forecast.UsualPrior(math.Max(1, own[len(own)/2]))
		x.prior.Book = vagueBook
	default:
		return nil
	}
	shared, err := m.fit(x.prior, x.groups)
	if err != nil {
		return err
	}
	x.shared, x.model = shared, shared.model
	return nil
}

// of returns the forecast for the next batch of a recipe, and how many of its
// batches there were.
func (x *fit) of(recipe lab.RecipeID) (f forecast.Forecast, batches int) {
	i, batches := x.group(recipe)
	return x.shared.of(i), batches
}

// group is the place of a recipe in the model, -1 for none, and how many of
// its batches there were.
func (x *fit) group(recipe lab.RecipeID) (i, batches int) {
	i, ok := x.index[recipe]
	if ok {
		batches = len(x.groups[i])
	}
	if batches == 0 {
		return -1, 0 // a new recipe, whichever it is
	}
	return i, batches
}

// windows returns the stages that a batch has still to come to.
func (l *forecaster) windows(c course, now time.Time) ([]StageWindow, error) {
	if !c.open {
		return nil, nil
	}
	var out []StageWindow
	for _, stage := range forecastStages {
		if _, ok := c.came[stage]; ok {
			continue
		}
		after, day := c.anchor(stage)
		x, err := l.fit(c.profile, after, stage)
		if err != nil {
			return nil, err
		}
		if x.model == nil {
			continue
		}
		f, batches := x.of(c.recipe)
		since := c.begun.AddDate(0, 0, int(day))
		w := windowFor(f, since, c.seen-day, now)
		w.Stage, w.After, w.Batches, w.Books, w.Source = stage, after, batches, x.books, x.source
		if w.Late && rarelyLogged(stage) {
			continue // that it is missing says nothing
		}
		out = append(out, w)
	}
	return out, nil
}

// The shares of what is expected that the two windows hold.
const mostShare, halfShare = 0.8, 0.5

// lateShare is how few would still be without a stage that is late.
const lateShare = 0.05

// windowFor is the window of a forecast whose days count from since, after
// so many of them had passed without the stage at the last visit.
func windowFor(f forecast.Forecast, since time.Time, passed float64, now time.Time) StageWindow {
	late := 1-f.Came(daysBetween(since, now)) < lateShare
	f = f.After(passed)
	day := func(d float64) time.Time { return since.AddDate(0, 0, int(math.Round(d))) }
	wide, near := f.Window(mostShare), f.Window(halfShare)
	return StageWindow{
		Since: since, From: day(wide.Low), To: day(wide.High), Likely: day(f.Quantile(0.5)), NearFrom: day(near.Low), NearTo: day(near.High),
		Own: f.Own(), Late: late,
	}
}

// readForecaster reads what past batches teach: the newest ones, and those
// named besides.
func (f *Farm) readForecaster(ctx context.Context, r store.Reader, zone *time.Location, besides ...lab.Batch) (*forecaster, error) {
	batches, err := r.Batches(ctx, learnBatches)
	if err != nil {
		return nil, err
	}
	for _, b := range besides {
		if !slices.ContainsFunc(batches, func(x lab.Batch) bool { return x.ID == b.ID }) {
			batches = append(batches, b)
		}
	}
	courses, err := f.readCourses(ctx, r, batches, zone)
	return f.newForecaster(courses), err
}

// course returns how a batch came along, and whether it was inoculated.
func (l *forecaster) course(id lab.BatchID) (course, bool) {
	i := slices.IndexFunc(l.courses, func(c course) bool { return c.batch.ID == id })
	if i < 0 {
		return course{}, false
	}
	return l.courses[i], true
}

// batches are those whose courses are known.
func (l *forecaster) batches() []lab.BatchID {
	return each(l.courses, func(c course) lab.BatchID { return c.batch.ID })
}

// Forecast returns the stages that a batch has still to come to.
func (f *Farm) Forecast(ctx context.Context, batch string) ([]StageWindow, error) {
	var l *forecaster
	var c course
	err := f.store.Read(ctx, func(r store.Reader) error {
		b, err := r.BatchByName(ctx, batch)
		if err != nil {
			return err
		}
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		if l, err = f.readForecaster(ctx, r, s.Zone, b); err != nil {
			return err
		}
		c, _ = l.course(b.ID)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return l.windows(c, f.now())
}
