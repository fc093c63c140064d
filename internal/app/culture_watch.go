package app

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"pinset/internal/calc/pool"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// LineReading is what the jars of one batch did with one culture of a line.
type LineReading struct {
	Culture    string
	Batch      string
	Generation *int    // transfers since the master, nil if not known
	Months     float64 // from the day the culture was made to the inoculation; negative if not known
	Jars       int     // that are done and were not lost; 0 if the batch only tells of pins
	PerJar     float64 // grams of each of them
	SE         float64 // of PerJar
	Pins       float64 // days to pins of half the jars, 0 if not seen; NaN never
	PinsSE     float64

	batch int
}

// LineTrend is how an outcome changes along a line.
type LineTrend struct {
	Of       string  // "yield" or "days to pins"
	Against  string  // "transfer" or "month of age"
	Readings int     // that it rests on
	Change   float64 // for each step, in per cent of what is usual in the line
	Low      float64 // 95 % interval
	High     float64
	Worse    float64 // how sure it is that the line gets worse, 0 to 1
	Known    bool    // false with fewer than three readings at three places
	Sentence string
}

// LineWatch says whether a line wears out.
type LineWatch struct {
	Readings []LineReading // by transfer, then as grown
	Trends   []LineTrend
	Tires    bool // one trend at least is worse beyond its interval
}

// What is believed of a line before it was seen: from one transfer, or one
// month, to the next it changes by 10 % or less two times of three, and
// batches of one line differ by 20 % (both our own choice, no source).
var linePrior = pool.Prior{Mean: 0.10, Between: 0.20}

// Where too few jars tell how far jars of one batch differ, 30 % of their mean
// is taken (common practice, no source); visits tell of pins to a day and a
// half at best.
const (
	usualSpread = 0.30
	pinsSE      = 1.5
	worseSure   = 0.90
)

// watchLine reads how the line has done, batch by batch.
func (f *Farm) watchLine(ctx context.Context, r store.Reader, line []CultureRow, zone *time.Location) (LineWatch, error) {
	ids := make([]lab.CultureID, len(line))
	of := make(map[lab.CultureID]CultureRow, len(line))
	for i, row := range line {
		ids[i], of[row.ID] = row.ID, row
	}
	yields, err := r.CultureYields(ctx, ids)
	if err != nil || len(yields) == 0 {
		return LineWatch{}, err
	}
	spread := commonSpread(yields)
	batches, err := batchesOfYields(ctx, r, yields)
	if err != nil {
		return LineWatch{}, err
	}
	courses, err := f.readCourses(ctx, r, batches, zone)
	if err != nil {
		return LineWatch{}, err
	}
	alone := make(map[lab.BatchID]int) // cultures of the line in each batch
	for _, y := range yields {
		alone[y.Batch]++
	}
	var w LineWatch
	for _, y := range yields {
		i := slices.IndexFunc(batches, func(b lab.Batch) bool { return b.ID == y.Batch })
		x := readingOf(of[y.Culture], batches[i], y, spread)
		x.batch = i
		for _, c := range courses {
			if c.batch.ID != y.Batch {
				continue
			}
			if made := of[y.Culture].Made; made.Exactness != lab.Unknown && !made.IsZero() {
				x.Months = math.Max(0, daysBetween(made.Time, c.begun)) / daysOfMonth
			}
			if pins, ok := c.came[lab.Pins]; ok && alone[y.Batch] == 1 {
				x.Pins, x.PinsSE = (pins.After+pins.By)/2, math.Hypot(pinsSE, (pins.By-pins.After)/math.Sqrt(12))
			}
		}
		w.Readings = append(w.Readings, x)
	}
	slices.SortStableFunc(w.Readings, func(a, b LineReading) int { return generationOf(a) - generationOf(b) })
	w.judge()
	return w, nil
}

const daysOfMonth = 30.4

func generationOf(x LineReading) int {
	if x.Generation == nil {
		return math.MaxInt32
	}
	return *x.Generation
}

// batchesOfYields reads the batches of yields, each once, in their order.
func batchesOfYields(ctx context.Context, r store.Reader, yields []store.CultureYield) ([]lab.Batch, error) {
	ids := each(yields, func(y store.CultureYield) lab.BatchID { return y.Batch })
	return r.BatchesByID(ctx, ids...)
}

// commonSpread is how far jars of one culture in one batch differ, as a share
// of their mean: of all such groups together.
func commonSpread(yields []store.CultureYield) float64 {
	squares, free, mean, jars := 0.0, 0, 0.0, 0
	for _, y := range yields {
		squares += math.Max(0, y.Squares-y.Grams*y.Grams/float64(y.Jars))
		free += y.Jars - 1
		mean, jars = mean+y.Grams, jars+y.Jars
	}
	if mean /= float64(jars); free < 5 || !(mean > 0) {
		return usualSpread
	}
	return math.Max(0.05, math.Sqrt(squares/float64(free))/mean)
}

func readingOf(c CultureRow, b lab.Batch, y store.CultureYield, spread float64) LineReading {
	return LineReading{
		Culture: c.Name, Batch: b.String(), Generation: c.Generation, Months: -1, Jars: y.Jars, PerJar: y.Grams / float64(y.Jars),
		SE: spread / math.Sqrt(float64(y.Jars)), // a share of the line's mean until judge knows that
	}
}

// judge fits the trends. Yields and days are taken as shares of the line's own
// mean, so that jars that bore nothing count.
func (w *LineWatch) judge() {
	grams, jars := 0.0, 0
	for _, x := range w.Readings {
		grams, jars = grams+x.PerJar*float64(x.Jars), jars+x.Jars
	}
	mean := grams / float64(jars)
	for i := range w.Readings {
		w.Readings[i].SE *= mean
	}
	for _, against := range []string{"transfer", "month of age"} {
		w.Trends = append(w.Trends,
			w.trend("yield", against, mean, func(x LineReading) (float64, float64, bool) { return x.PerJar, x.SE, x.Jars > 0 && mean > 0 }),
			w.trend("days to pins", against, w.meanPins(), func(x LineReading) (float64, float64, bool) { return x.Pins, x.PinsSE, x.Pins > 0 }))
	}
	w.Tires = slices.ContainsFunc(w.Trends, func(t LineTrend) bool { return t.Known && t.isWorse() })
}

func (w *LineWatch) meanPins() float64 {
	sum, n := 0.0, 0
	for _, x := range w.Readings {
		if x.Pins > 0 {
			sum, n = sum+x.Pins, n+1
		}
	}
	return sum / math.Max(1, float64(n))
}

// trend fits one outcome against transfers or age.
func (w *LineWatch) trend(of, against string, usual float64, outcome func(LineReading) (y, se float64, ok bool)) LineTrend {
	t := LineTrend{Of: of, Against: against}
	var readings []pool.Reading
	for _, x := range w.Readings {
		y, se, ok := outcome(x)
		at := x.Months
		if against == "transfer" {
			at = float64(generationOf(x))
			ok = ok && x.Generation != nil
		}
		if ok && at >= 0 {
			readings = append(readings, pool.Reading{X: at, Estimate: y / usual, SE: se / usual, Batch: x.batch})
		}
	}
	t.Readings = len(readings)
	fit, err := pool.Slope(linePrior, readings)
	if errors.Is(err, pool.ErrFew) || err != nil {
		places := make(map[float64]bool)
		for _, x := range readings {
			places[x.X] = true
		}
		t.Sentence = fmt.Sprintf("%s against %s: too few to say, %s at %d different ones; it takes three.", capital(of), manyOf(against), figure.Count(len(readings), "reading", "readings"), len(places))
		return t
	}
	step := fit.Step()
	t.Known, t.Change = true, 100*step.Mean()
	low, high := step.Interval(0.95)
	t.Low, t.High = 100*low, 100*high
	if t.Worse = 1 - step.Above(0); of != "yield" {
		t.Worse = step.Above(0)
	}
	t.Sentence = t.say()
	return t
}

// isWorse reports whether the whole interval lies on the bad side.
func (t LineTrend) isWorse() bool {
	if t.Of == "yield" {
		return t.High < 0
	}
	return t.Low > 0
}

func (t LineTrend) say() string {
	figures := strings.ReplaceAll(fmt.Sprintf("with each %s %s %s by %.0f %% of what is usual in this line (95 %%: %+.0f to %+.0f %%; %d readings)",
		t.Against, verbOf(t.Of), direction(t.Change), math.Abs(t.Change), t.Low, t.High, t.Readings), "-", "−")
	switch {
	case t.isWorse():
		return "The line tires: " + figures + "."
	case t.Worse >= worseSure:
		return "It may tire, and is not settled: " + figures + "."
	}
	return "Nothing shows that it tires: " + figures + "."
}

func verbOf(outcome string) string {
	if outcome == "yield" {
		return "the yield"
	}
	return "the time to pins"
}

func direction(change float64) string {
	if change < 0 {
		return "falls"
	}
	return "rises"
}

func manyOf(against string) string {
	if against == "transfer" {
		return "transfers"
	}
	return "months of age"
}
