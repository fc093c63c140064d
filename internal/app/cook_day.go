package app

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// CookDayInput asks for a timetable over the farm's own cookers, as typed.
type CookDayInput struct {
	Jars  string // "30 pint jar; 12 quart jar"
	Cycle string // from one loading to the next, such as "3 h"; "" follows from the cookers and the hold
	Hold  string // such as "90 min"; for a blank Cycle
	Day   string // of work, such as "10 h"; "" is 10 h
	Mixed bool   // containers of two sizes may stand in one cook
}

// CookDay is a timetable of cooks.
type CookDay struct {
	figure.Answer[thermal.LoadResult]
	Cookers  []string
	CycleMin float64
	DayMin   float64
	Cycle    string // how the cycle was found, "" if it was typed
}

// What a cook takes besides its heat-up and hold: loading, venting and coming
// down to zero by itself, minutes. Common practice, no source.
const aroundHold = 10 + 45 + 15

// CookDay parts jars over the cookers: by what the grower counted of each,
// else by an estimate from its inner diameter and the width of the jars.
func (f *Farm) CookDay(ctx context.Context, in CookDayInput) (CookDay, error) {
	day := CookDay{}
	jars, err := parseLoadJars(in.Jars)
	if err != nil {
		return day, err
	}
	ask, known, err := f.dayCookers(ctx, slices.Sorted(maps.Keys(jars)))
	if err != nil {
		return day, err
	}
	if err := knownToFit(jars, ask.Cookers); err != nil {
		return day, err
	}
	heatUp := 0.0
	for _, c := range known {
		day.Cookers = append(day.Cookers, c.Name)
		heatUp = max(heatUp, heatUpOf(c))
	}
	if err := day.times(in, heatUp); err != nil {
		return day, err
	}
	one := !in.Mixed
	ask.Jars, ask.OneSizePerCook, ask.CycleMin, ask.DayMin = jars, &one, day.CycleMin, day.DayMin
	if day.Answer, err = thermal.Load(ask.LoadInput); err != nil {
		return day, loadFault(err)
	}
	if len(ask.packed) > 0 {
		day.Cautions = append([]figure.Caution{{
			Code: "packing_estimated", Title: "A layer that nobody counted", Weight: figure.Care,
			Text: strings.Join(ask.packed, "; ") + ": estimated from the inner diameter of the cooker and the width of the jars. Count them once, with the rack in, and write it down under Cookers.",
		}}, day.Cautions...)
	}
	return day, nil
}

// dayAsk is the cookers of a day with what was estimated of them.
type dayAsk struct {
	thermal.LoadInput
	packed []string // "7 of pint jar in a layer of tall, 2 layers"
}

// dayCookers returns the cookers that are known to take one of the jars.
func (f *Farm) dayCookers(ctx context.Context, jars []string) (dayAsk, []lab.Cooker, error) {
	all, err := f.Cookers(ctx)
	if err != nil {
		return dayAsk{}, nil, err
	}
	var ask dayAsk
	var known []lab.Cooker
	err = f.store.Read(ctx, func(r store.Reader) error {
		for _, c := range all {
			l := loadCooker(c)
			for _, jar := range jars {
				said, err := packInto(ctx, r, c, jar, &l)
				if err != nil {
					return err
				}
				ask.packed = append(ask.packed, said...)
			}
			if len(l.Capacity) > 0 {
				ask.Cookers, known = append(ask.Cookers, l), append(known, c)
			}
		}
		return nil
	})
	if err == nil && len(known) == 0 {
		err = lab.Invalidf("jars", "write down under Cookers what each holds, such as: pint jar 7 x 2, or its inner diameter", "no cooker is known by what it holds")
	}
	return ask, known, err
}

// packInto estimates what c holds of jar where nobody counted it, and says so.
// A jar that does not go in, or has no measures, is left out.
func packInto(ctx context.Context, r store.Reader, c lab.Cooker, jar string, l *thermal.LoadCooker) ([]string, error) {
	if l.Capacity[jar] > 0 {
		return nil, nil
	}
	places, err := packedPlaces(ctx, r, c, []string{jar})
	if lab.IsKind(err, lab.Invalid) || places == nil {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	l.Capacity[jar], l.Layers[jar] = places[0], len(places)
	return []string{fmt.Sprintf("%d of %s in a layer of %s, %s", places[0], jar, c.Name, layersCounted(len(places)))}, nil
}

func layersCounted(n int) string {
	if n == 1 {
		return "1 layer"
	}
	return fmt.Sprintf("%d layers", n)
}

func heatUpOf(c lab.Cooker) float64 {
	if c.Figures.HeatUpMin == nil {
		return usualComeUp
	}
	return float64(*c.Figures.HeatUpMin)
}

func loadCooker(c lab.Cooker) thermal.LoadCooker {
	out := thermal.LoadCooker{Name: c.Name, Capacity: map[string]int{}, Layers: map[string]int{}}
	for _, h := range c.Figures.Holds {
		out.Capacity[lab.NameKey(h.Container)], out.Layers[lab.NameKey(h.Container)] = h.PerLayer, h.Layers
	}
	return out
}

// parseLoadJars reads "30 pint jar; 12 quart jar".
func parseLoadJars(typed string) (map[string]int, error) {
	jars := make(map[string]int)
	for _, part := range strings.FieldsFunc(typed, func(r rune) bool { return r == ';' || r == '\n' || r == ',' }) {
		number, name, _ := strings.Cut(strings.TrimSpace(part), " ")
		n, err := strconv.Atoi(number)
		key := lab.NameKey(name)
		if err != nil || key == "" || n < 1 {
			return nil, lab.Invalidf("jars", "write it like: 30 pint jar; 12 quart jar", "%q is no number of jars", clipTyped(strings.TrimSpace(part)))
		}
		jars[key] += n
	}
	if len(jars) == 0 {
		return nil, lab.Invalidf("jars", "write it like: 30 pint jar; 12 quart jar", "there are no jars")
	}
	return jars, nil
}

// knownToFit refuses jars that no cooker is known to hold.
func knownToFit(jars map[string]int, cookers []thermal.LoadCooker) error {
	for _, key := range slices.Sorted(maps.Keys(jars)) {
		if !slices.ContainsFunc(cookers, func(c thermal.LoadCooker) bool { return c.Capacity[key] > 0 }) {
			return lab.Invalidf("jars", "write down under Cookers how many go into a layer, or its inner diameter and that of the jar", "no cooker is known to hold %q", clipTyped(key))
		}
	}
	return nil
}

// times reads cycle and day.
func (d *CookDay) times(in CookDayInput, heatUp float64) error {
	minutes := func(field, typed string, none float64) (float64, error) {
		if strings.TrimSpace(typed) == "" {
			return none, nil
		}
		q, err := units.ParseIn(typed, "min")
		if err != nil {
			return 0, atField(field, err)
		}
		if q.Dim != units.Duration || !(q.Value > 0) {
			return 0, lab.Invalidf(field, "write it like 90 min or 2 h 30 min", "%q is no length of time", clipTyped(typed))
		}
		return q.Value, nil
	}
	var err error
	if d.DayMin, err = minutes("day", in.Day, 600); err != nil {
		return err
	}
	if d.CycleMin, err = minutes("cycle", in.Cycle, 0); err != nil || d.CycleMin > 0 {
		return err
	}
	hold, err := minutes("hold", in.Hold, 0)
	if err != nil {
		return err
	}
	if hold == 0 {
		return lab.Invalidf("cycle", "write it like 3 h, or write your hold", "how long a cook takes is not said")
	}
	d.CycleMin = heatUp + hold + aroundHold
	d.Cycle = "the slowest heat-up, your hold, 10 min of venting, 45 min to zero pressure and 15 min to load (common practice, no source)"
	return nil
}

// loadFault moves a fault of the calculator to the field that it came from.
func loadFault(err error) error {
	var fault *figure.Fault
	if !errors.As(err, &fault) {
		return err
	}
	field := "jars"
	for _, name := range []string{"cycle", "day"} {
		if strings.HasPrefix(fault.Field, name) {
			field = name
		}
	}
	return lab.Invalidf(field, fault.Mend, "%s", fault.What)
}
