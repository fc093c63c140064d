package app

import (
	"context"
	"fmt"
	"math"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// StandardRow is one way of cooking and what came of it: container, fill,
// pressure and hold, at the altitude or air pressure of its cooks.
type StandardRow struct {
	Container  string   `json:"container"`
	Recipe     string   `json:"recipe"`
	FillMM     float64  `json:"fill_mm"` // 0 not known
	Measured   bool     `json:"fill_measured"`
	AltitudeM  *float64 `json:"altitude_m"` // that of the cooks, to 50 m; of a barometer, the one it stands for
	Gauge      string   `json:"gauge"`
	HoldMin    float64  `json:"hold_min"`
	Cooks      int      `json:"cooks"`
	Held       int      `json:"held"`
	Blanks     int      `json:"blanks"`
	Read       int      `json:"blanks_read"` // on day 7 or later, or fouled before
	Clean      int      `json:"blanks_clean"`
	Fouled     int      `json:"blanks_fouled"`
	Inoculated int      `json:"jars_inoculated"`
	JarsFouled int      `json:"jars_fouled"`
	Says       string   `json:"says"` // what the clean blanks can and can not show
}

// Standard is the grower's own table, which replaces advice as it grows.
type Standard struct {
	Rows  []StandardRow `json:"rows"`
	Cooks int           `json:"cooks"` // that were looked at
}

// standardCooks is how many of the last cooks are counted.
const standardCooks = 100

// Standard counts the outcomes of the last cooks by how they were made.
func (f *Farm) Standard(ctx context.Context) (Standard, error) {
	out := Standard{Rows: []StandardRow{}}
	err := f.store.Read(ctx, func(r store.Reader) error {
		cooks, err := r.Cooks(ctx, standardCooks)
		if err != nil {
			return err
		}
		rows, err := f.cookRows(ctx, r, cooks)
		if err != nil {
			return err
		}
		stock, err := f.readStock(ctx, r)
		if err != nil {
			return err
		}
		return countStandard(ctx, r, &standardCount{out: &out, stock: stock, at: make(map[standardKey]int)}, rows)
	})
	for i := range out.Rows {
		out.Rows[i].Says = BlanksSay(out.Rows[i].Clean, out.Rows[i].Fouled)
	}
	return out, err
}

// standardKey is what makes two cooks the same in the table.
type standardKey struct {
	container lab.ContainerID
	recipe    lab.RecipeVersionID
	gauge     string
	hold      float64
	fill      float64 // as measured, 0 if it was not
	altitude  float64 // to 50 m
	known     bool    // the altitude is
}

type standardCount struct {
	out   *Standard
	stock *stock
	at    map[standardKey]int // row by key
}

func countStandard(ctx context.Context, r store.Reader, n *standardCount, cooks []CookRow) error {
	if len(cooks) == 0 {
		return nil
	}
	ids := each(cooks, func(c CookRow) lab.CookID { return c.ID })
	all, err := r.Jars(ctx, store.JarFilter{Cooks: ids})
	if err != nil {
		return err
	}
	steps, err := r.CookSteps(ctx, ids...)
	if err != nil {
		return err
	}
	jarsOf := groupBy(all, func(j store.JarRow) lab.CookID { return j.Cook })
	stepsOf := groupBy(steps, func(s lab.CookStep) lab.CookID { return s.Cook })
	for _, c := range cooks {
		jars := jarsOf[c.ID]
		if len(jars) == 0 || c.State == lab.Unmarked && len(c.Stretches) == 0 {
			continue
		}
		n.out.Cooks++
		place := placeOf(c.Cook, stepsOf[c.ID])
		counted := make(map[standardKey]bool)
		for _, j := range jars {
			key := place
			key.container, key.recipe, key.gauge, key.hold = j.Container, j.Recipe, lab.NameKey(c.Gauge), float64(c.Hold)
			row, err := n.row(ctx, r, key, c)
			if err != nil {
				return err
			}
			if !counted[key] {
				counted[key] = true
				row.Cooks++
				if c.State == lab.Held {
					row.Held++
				}
			}
			row.count(j, c)
		}
	}
	return nil
}

// placeOf returns the part of a key that is the same for all jars of a cook:
// the fill as measured, and the altitude that held.
func placeOf(c lab.Cook, steps []lab.CookStep) standardKey {
	facts := cookFacts{cook: c, altitude: c.Altitude, steps: lab.CurrentSteps(steps)}
	facts.readPlace()
	key := standardKey{known: facts.altitude != nil}
	if facts.altitude != nil {
		key.altitude = 50 * math.Round(*facts.altitude/50)
	}
	if mm := facts.stepValue(lab.FillAt); mm != nil {
		key.fill = *mm
	}
	return key
}

// row returns the row of key, made when it is first met.
func (n *standardCount) row(ctx context.Context, r store.Reader, key standardKey, c CookRow) (*StandardRow, error) {
	if i, ok := n.at[key]; ok {
		return &n.out.Rows[i], nil
	}
	row := StandardRow{Gauge: c.Gauge, HoldMin: float64(c.Hold), Container: "not said", Recipe: "not said"}
	if key.container != "" && key.recipe != "" {
		container, err := r.Container(ctx, key.container)
		if err != nil {
			return nil, err
		}
		recipe, err := r.Recipe(ctx, key.recipe)
		if err != nil {
			return nil, err
		}
		row.Container, row.Recipe = container.Name, recipe.String()
		v, _, _ := vesselOf(container, recipe, n.stock)
		row.FillMM = v.FillMM
	}
	if key.fill > 0 {
		row.FillMM, row.Measured = key.fill, true
	}
	if key.known {
		row.AltitudeM = &key.altitude
	}
	n.at[key] = len(n.out.Rows)
	n.out.Rows = append(n.out.Rows, row)
	return &n.out.Rows[len(n.out.Rows)-1], nil
}

// count adds one jar.
func (row *StandardRow) count(j store.JarRow, c CookRow) {
	fouled := j.Fate == lab.Lost && j.Reason == "fouled"
	switch {
	case j.Blank:
		row.Blanks++
		day, known := c.Day.Time, !c.Day.IsZero()
		switch {
		case fouled:
			row.Read++
			row.Fouled++
		case known && !j.LastSeen.IsZero() && j.LastSeen.Time.Sub(day).Hours() >= 24*(firstBlankDay-0.5):
			row.Read++
			row.Clean++
		}
	case !j.Inoculated.IsZero():
		row.Inoculated++
		if fouled {
			row.JarsFouled++
		}
	}
}

// BlanksSay says what so many clean and fouled blanks can and can not show.
// A fault that fouls three jars in ten is missed by n blanks 0.7^n of the
// time; the bound is the exact one of a binomial count of none, 1 - 0.05^(1/n).
func BlanksSay(clean, fouled int) string {
	switch {
	case fouled > 0:
		return figure.Of(fouled, clean+fouled, "blank", "fouled", "fouled") + ": the cook is suspect before the culture is."
	case clean == 0:
		return "No blank was read: nothing tells a cook that failed from a culture that was not clean."
	}
	n := float64(clean)
	return fmt.Sprintf("%s. If 3 jars in 10 fouled, all of these would still be clean %.2g %% of the time; at 95 %%, as many as %.2g %% of jars may foul from the cook. It is no proof that all is dead.",
		figure.Counted(clean, "clean blank"), 100*math.Pow(0.7, n), 100*(1-math.Pow(0.05, 1/n)))
}

// Hold returns the hold in words, "" if none was set.
func (row StandardRow) Hold() string {
	if row.HoldMin == 0 {
		return ""
	}
	return units.Minute(row.HoldMin).String()
}
