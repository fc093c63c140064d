package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/calc/steam"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// NewCooker is a cooker as typed; blank figures stay as an earlier entry of
// the same name has them.
type NewCooker struct {
	Name      string
	Kind      string // one of lab.CookerKinds
	Rated     string // nameplate, such as "15 psi"
	Diameter  string
	Height    string
	Mass      string // empty, with its lid
	Metal     string // "aluminium" or "steel"
	Burner    string // watts, such as "1500"
	Bore      string // inner diameter
	Room      string // inside, from the rack to the lid
	Divider   string // thickness of the plate between layers
	ReadsHigh string // such as "0.5 psi"
	Tested    string // day of the gauge's last test
	Loss      string // measured, mL in an hour of hold
	HeatUp    string // measured, such as "38 min"
	Holds     string // such as "pint jar 7 x 2; quart jar 4 x 1"
}

// SaveCooker keeps what n says of a cooker, as a new entry that succeeds the
// earlier ones of that name.
func (f *Farm) SaveCooker(ctx context.Context, a Act, n NewCooker) (lab.Cooker, lab.DeedID, error) {
	var c lab.Cooker
	deed, err := f.deed(a, "", "cooker %s", strings.Join(strings.Fields(n.Name), " "))
	if err != nil {
		return c, "", err
	}
	err = f.store.Write(ctx, func(w store.Writer) error {
		all, err := w.Cookers(ctx)
		if err != nil {
			return err
		}
		known, _ := lab.CookerNow(all, n.Name)
		c = lab.Cooker{Entry: entryOf(deed, lab.At(deed.Entered)), Name: n.Name, Figures: known.Figures}
		if c.Figures, err = n.figures(known.Figures, f.now()); err != nil {
			return err
		}
		if c, err = c.Check(); err != nil {
			return err
		}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			return err
		}
		return w.AddCookers(ctx, []lab.Cooker{c})
	})
	return c, deed.ID, err
}

// figures returns what was typed over what was known.
func (n NewCooker) figures(f lab.CookerFigures, now time.Time) (lab.CookerFigures, error) {
	for _, x := range []struct {
		field, typed, unit string
		to                 **float64
		per                float64 // of the parsed unit, that make one of the kept unit
	}{
		{"rated", n.Rated, "psi", &f.RatedPsi, steam.PascalPerPsi},
		{"diameter", n.Diameter, "mm", &f.DiameterMM, 1},
		{"height", n.Height, "mm", &f.HeightMM, 1},
		{"bore", n.Bore, "mm", &f.BoreMM, 1},
		{"room", n.Room, "mm", &f.RoomMM, 1},
		{"divider", n.Divider, "mm", &f.DividerMM, 1},
		{"mass", n.Mass, "kg", &f.MassKg, 1000},
		{"reads_high", n.ReadsHigh, "psi", &f.ReadsHighPsi, steam.PascalPerPsi},
		{"loss", n.Loss, "mL", &f.LossMlH, 1},
	} {
		if strings.TrimSpace(x.typed) == "" {
			continue
		}
		q, err := units.ParseIn(x.typed, x.unit)
		if err != nil {
			return f, atField(x.field, err)
		}
		v := math.Round(q.Value/x.per*1e6) / 1e6 // 15 psi typed is 15
		*x.to = &v
	}
	return n.rest(f, now)
}

// rest reads the figures that have no unit of their own.
func (n NewCooker) rest(f lab.CookerFigures, now time.Time) (lab.CookerFigures, error) {
	if typed := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(n.Burner), "W")); typed != "" {
		w, err := strconv.ParseFloat(strings.TrimSpace(typed), 64)
		if err != nil {
			return f, lab.Invalidf("burner", "write the watts of the nameplate, such as 1500", "%q is not a number of watts", n.Burner)
		}
		f.BurnerW = &w
	}
	if strings.TrimSpace(n.HeatUp) != "" {
		m, err := parseMinutes(n.HeatUp)
		if err != nil {
			return f, atField("heat_up", err)
		}
		f.HeatUpMin = &m
	}
	switch lab.NameKey(n.Metal) {
	case "":
	case "aluminium", "aluminum":
		f.Steel = false
	case "steel":
		f.Steel = true
	default:
		return f, lab.Invalidf("metal", "choose aluminium or steel", "%q is not a metal that is known here", n.Metal)
	}
	if k := lab.NameKey(n.Kind); k != "" {
		f.Kind = lab.CookerKind(k)
	}
	tested, err := lab.ParseDay("tested", n.Tested)
	if err != nil {
		return f, err
	}
	if today := lab.OnDay(now).Time; tested.After(today) {
		return f, lab.Invalidf("tested", "write the day on which it was tested, or leave it blank until it is", "%s is still to come", tested.Format(time.DateOnly))
	}
	if !tested.IsZero() {
		f.GaugeTested = tested.Format(time.DateOnly)
	}
	if strings.TrimSpace(n.Holds) != "" {
		f.Holds, err = parseHolds(n.Holds)
	}
	return f, err
}

// parseHolds reads "pint jar 7 x 2; quart jar 4 x 1".
func parseHolds(typed string) ([]lab.CookerCapacity, error) {
	var out []lab.CookerCapacity
	for part := range strings.SplitSeq(typed, ";") {
		words := strings.Fields(strings.ReplaceAll(part, "×", "x"))
		n := len(words)
		if n < 4 || words[n-2] != "x" {
			return nil, lab.Invalidf("holds", "write it like: pint jar 7 x 2, for 7 in a layer and 2 layers", "%q does not say how many stand in a layer", strings.TrimSpace(part))
		}
		perLayer, errA := strconv.Atoi(words[n-3])
		layers, errB := strconv.Atoi(words[n-1])
		if errA != nil || errB != nil {
			return nil, lab.Invalidf("holds", "write it like: pint jar 7 x 2", "%q holds no whole numbers", strings.TrimSpace(part))
		}
		out = append(out, lab.CookerCapacity{Container: strings.Join(words[:n-3], " "), PerLayer: perLayer, Layers: layers})
	}
	return out, nil
}

// Cookers returns the cookers as they are now, by name.
func (f *Farm) Cookers(ctx context.Context) ([]lab.Cooker, error) {
	var out []lab.Cooker
	err := f.store.Read(ctx, func(r store.Reader) error {
		all, err := r.Cookers(ctx)
		seen := make(map[string]bool)
		for _, c := range slices.Backward(lab.Current(all)) {
			if key := lab.NameKey(c.Name); !seen[key] {
				seen[key] = true
				out = append(out, c)
			}
		}
		return err
	})
	slices.SortFunc(out, func(a, b lab.Cooker) int { return strings.Compare(lab.NameKey(a.Name), lab.NameKey(b.Name)) })
	return out, err
}

// cookerOf returns the cooker that a cook names; with a single one known, a
// cook that names none stood in it.
func cookerOf(ctx context.Context, r store.Reader, name string) (*lab.Cooker, error) {
	all, err := r.Cookers(ctx)
	if err != nil {
		return nil, err
	}
	if name == "" {
		names := make(map[string]bool)
		for _, c := range lab.Current(all) {
			names[lab.NameKey(c.Name)] = true
			name = c.Name
		}
		if len(names) != 1 {
			return nil, nil
		}
	}
	if c, ok := lab.CookerNow(all, name); ok {
		return &c, nil
	}
	return nil, nil
}

// gaugePsi reads a target or reading, 0 if there is none.
func gaugePsi(typed string) float64 {
	if t, err := parseTarget(typed); err == nil {
		return t.psi
	}
	return 0
}

// checkRating refuses a target that the cooker can not, or must not, reach.
func checkRating(ctx context.Context, r store.Reader, c lab.Cook) error {
	cooker, err := cookerOf(ctx, r, c.Cooker)
	if err != nil || cooker == nil {
		return err
	}
	t, _ := targetAt(c.Gauge, c.Altitude)
	if cooker.Figures.Kind == lab.Steamer && t.known {
		return t.checkSteamer(cooker.Name, c)
	}
	if cooker.Figures.RatedPsi == nil {
		return nil
	}
	rated, asked := *cooker.Figures.RatedPsi, t.psi
	if asked > rated+0.01 {
		return lab.Invalidf("gauge", fmt.Sprintf("set at most %.4g psi and hold longer; the maker's manual comes first", rated),
			"a target of %s is above the %.4g psi that %s is rated for", c.Gauge, rated, cooker.Name)
	}
	return nil
}

// checkSteamer refuses a target that steam without pressure does not reach.
// 100 °C is what steamers are said to have everywhere: it stands for boiling.
func (t target) checkSteamer(name string, c lab.Cook) error {
	boiling, ok := boilingAt(c.Altitude)
	best := "100 °C"
	if ok {
		best = fmt.Sprintf("%.1f °C", math.Floor(boiling*10)/10)
	}
	mend := fmt.Sprintf("write what it gets to, %s, and hold longer; or choose another cooker", best)
	switch {
	case t.celsius == nil:
		return lab.Invalidf("gauge", mend, "%s is a steamer without pressure, and a target of %s is a pressure", name, c.Gauge)
	case ok && *t.celsius > max(boiling+1, 100):
		return lab.Invalidf("gauge", mend, "%s is a steamer without pressure: water boils at %.1f °C here, and %s asks for more", name, boiling, c.Gauge)
	}
	return nil
}

// boilingAt is where water boils at an altitude, °C, and whether it is known.
func boilingAt(altitude *float64) (float64, bool) {
	if altitude == nil {
		return 0, false
	}
	ambient, err := steam.AmbientAt(altitude, nil)
	if err != nil {
		return 0, false
	}
	boiling, err := steam.BoilingPoint(ambient)
	return float64(boiling), err == nil
}
