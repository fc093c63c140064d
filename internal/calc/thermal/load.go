package thermal

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"pinset/internal/figure"
)

// LoadCooker is a cooker and what it takes.
type LoadCooker struct {
	Name     string         `json:"name" jsonschema:"what you call the cooker"`
	Capacity map[string]int `json:"capacity,omitempty" jsonschema:"jars of each container in one layer, as counted; left out, they are estimated from bore and widths"`
	BoreMM   *float64       `json:"bore_mm,omitempty" jsonschema:"inner diameter of a round pot, 80 to 2000 mm; needed where no capacity is given"`
	Layers   map[string]int `json:"layers,omitempty" jsonschema:"layers of each container; may be left out where heights are known"`
	HeightMM *float64       `json:"height_mm,omitempty" jsonschema:"inner height above the rack; left out, the layers count"`
}

// LoadInput asks how many cooks a lot of jars takes.
type LoadInput struct {
	Cookers        []LoadCooker       `json:"cookers" jsonschema:"the cookers that run side by side"`
	HeightsMM      map[string]float64 `json:"heights_mm,omitempty" jsonschema:"height of each container with its lid; needed where layers are left out"`
	WidthsMM       map[string]float64 `json:"widths_mm,omitempty" jsonschema:"outer diameter of each round container; needed where no capacity is given"`
	ClearanceMM    *float64           `json:"clearance_mm,omitempty" jsonschema:"gap between containers and to the wall, 0 to 100 mm; 5 if left out"`
	DividerMM      float64            `json:"divider_mm,omitempty" jsonschema:"thickness of the plate between layers; 0 if left out"`
	OneSizePerCook *bool              `json:"one_size_per_cook,omitempty" jsonschema:"whether a cook takes one kind of container only; yes if left out"`
	Jars           map[string]int     `json:"jars" jsonschema:"jars to cook of each container"`
	CycleMin       float64            `json:"cycle_min" jsonschema:"minutes from one loading to the next"`
	DayMin         float64            `json:"day_min" jsonschema:"minutes of work in a day"`
}

// LoadLayers is a stack of layers of one container in a cook, from the bottom.
type LoadLayers struct {
	Container string `json:"container"`
	Layers    int    `json:"layers"`
	Jars      int    `json:"jars"`
}

// LoadCook is one cook of the timetable.
type LoadCook struct {
	Round    int          `json:"round"`     // from 1; cookers of one round run side by side
	Day      int          `json:"day"`       // from 1
	StartMin float64      `json:"start_min"` // of the day
	Cooker   string       `json:"cooker"`
	Load     []LoadLayers `json:"load"`
	Jars     int          `json:"jars"`
	Places   int          `json:"places"` // that this load could have filled
}

// LoadRefused is a container that no cooker takes.
type LoadRefused struct {
	Container string `json:"container"`
	Jars      int    `json:"jars"`
	Why       string `json:"why"`
}

// LoadResult is the timetable.
type LoadResult struct {
	Cooks   []LoadCook    `json:"cooks"`
	Rounds  int           `json:"rounds"`
	Minutes float64       `json:"minutes"` // rounds x cycle
	Days    int           `json:"days"`
	Refused []LoadRefused `json:"refused"`
}

// Load finds the fewest rounds of cooks for a lot of jars over the cookers,
// and their timetable. With one size per cook the number of rounds is proved
// least, unless the caution not_proved says otherwise.
func Load(in LoadInput) (figure.Answer[LoadResult], error) {
	none := figure.Answer[LoadResult]{}
	if err := checkLoad(in); err != nil {
		return none, err
	}
	plan, err := newLoadPlan(in)
	if err != nil {
		return none, err
	}
	cooks := plan.oneSize
	if in.OneSizePerCook != nil && !*in.OneSizePerCook {
		cooks = plan.mixed
	}
	list, proved := cooks()
	r := LoadResult{Cooks: list, Refused: plan.refused}
	perDay := int(in.DayMin / in.CycleMin)
	for i := range r.Cooks {
		c := &r.Cooks[i]
		r.Rounds = max(r.Rounds, c.Round)
		c.Day = (c.Round-1)/perDay + 1
		c.StartMin = float64((c.Round-1)%perDay) * in.CycleMin
		r.Days = max(r.Days, c.Day)
	}
	r.Minutes = float64(r.Rounds) * in.CycleMin
	return figure.Answer[LoadResult]{Result: r, Cautions: plan.cautions(r, proved), Working: plan.working(r)}, nil
}

// checkLoad checks the input.
func checkLoad(in LoadInput) error {
	if len(in.Cookers) == 0 {
		return figure.Faultf("cookers", "give a cooker with its name and capacity", "there is no cooker")
	}
	if !(in.CycleMin > 0 && in.CycleMin <= 2880) {
		return figure.Faultf("cycle_min", "give the minutes from one loading to the next", "a cycle of %g min is outside 0 to 2880 min", in.CycleMin)
	}
	if !(in.DayMin >= in.CycleMin && in.DayMin <= 2880) {
		return figure.Faultf("day_min", "give the minutes of a working day, long enough for one cook",
			"a day of %g min does not hold a cycle of %g min", in.DayMin, in.CycleMin)
	}
	if !(in.DividerMM >= 0 && in.DividerMM <= 100) {
		return figure.Faultf("divider_mm", "give the thickness of the plate between layers, 0 if there is none", "a divider of %g mm is outside 0 to 100 mm", in.DividerMM)
	}
	if len(in.Jars) == 0 {
		return figure.Faultf("jars", "give the jars of each container", "there are no jars")
	}
	for _, name := range slices.Sorted(maps.Keys(in.Jars)) {
		if n := in.Jars[name]; n < 0 || n > 100000 {
			return figure.Faultf("jars."+name, "give the number of jars", "%d jars are outside 0 to 100000", n)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(in.HeightsMM)) {
		if h := in.HeightsMM[name]; !(h >= 10 && h <= 1000) {
			return figure.Faultf("heights_mm."+name, "measure it with its lid in millimetres", "a height of %g mm is outside 10 to 1000 mm", h)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(in.WidthsMM)) {
		if w := in.WidthsMM[name]; !(w >= 10 && w <= 1000) {
			return figure.Faultf("widths_mm."+name, "measure it at its widest in millimetres", "a width of %g mm is outside 10 to 1000 mm", w)
		}
	}
	if err := checkCircles(in); err != nil {
		return err
	}
	return checkCookers(in.Cookers)
}

// checkCookers checks each cooker.
func checkCookers(cookers []LoadCooker) error {
	for i, c := range cookers {
		key := fmt.Sprintf("cookers[%d]", i)
		if strings.TrimSpace(c.Name) == "" {
			return figure.Faultf(key+".name", "give it a name, such as A", "cooker %d has no name", i+1)
		}
		if c.HeightMM != nil && !(*c.HeightMM >= 50 && *c.HeightMM <= 3000) {
			return figure.Faultf(key+".height_mm", "measure the inside above the rack in millimetres", "a height of %g mm is outside 50 to 3000 mm", *c.HeightMM)
		}
		if err := checkCounts(key+".capacity", c.Capacity); err != nil {
			return err
		}
		if err := checkCounts(key+".layers", c.Layers); err != nil {
			return err
		}
	}
	return nil
}

// checkCounts checks the numbers of a map by container.
func checkCounts(key string, m map[string]int) error {
	for _, name := range slices.Sorted(maps.Keys(m)) {
		if n := m[name]; n < 0 || n > 10000 {
			return figure.Faultf(key+"."+name, "give the number, 0 if it does not go in", "%d is outside 0 to 10000", n)
		}
	}
	return nil
}

// loadPlan is the task in numbers: containers that can be cooked, by name.
type loadPlan struct {
	in        LoadInput
	names     []string
	jars      []int
	perLayer  [][]int // cooker, container
	layers    [][]int // cooker, container
	shortened []string
	packed    []string // what was estimated: "7 of pint in A"
	refused   []LoadRefused
}

// newLoadPlan sorts out what goes where.
func newLoadPlan(in LoadInput) (*loadPlan, error) {
	p := &loadPlan{in: in, refused: []LoadRefused{}}
	p.perLayer, p.layers = make([][]int, len(in.Cookers)), make([][]int, len(in.Cookers))
	for _, name := range slices.Sorted(maps.Keys(in.Jars)) {
		if in.Jars[name] == 0 {
			continue
		}
		if err := p.add(name); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// add takes one container into the plan, or refuses it with the reason.
func (p *loadPlan) add(name string) error {
	why := "no cooker has a capacity for it, and no bore and width tell one"
	perLayer, layers, total := []int{}, []int{}, 0
	for i := range p.in.Cookers {
		places := p.perLayerIn(i, name)
		n, reason, err := p.layersIn(i, name, places)
		if err != nil {
			return err
		}
		if reason != "" {
			why = reason
		}
		perLayer, layers = append(perLayer, places), append(layers, n)
		total += n * places
	}
	if total == 0 {
		p.refused = append(p.refused, LoadRefused{Container: name, Jars: p.in.Jars[name], Why: why})
		return nil
	}
	p.names, p.jars = append(p.names, name), append(p.jars, p.in.Jars[name])
	for i := range p.in.Cookers {
		p.perLayer[i] = append(p.perLayer[i], perLayer[i])
		p.layers[i] = append(p.layers[i], layers[i])
	}
	return nil
}

// layersIn returns how many layers of a container cooker i holds, and why
// none if that is so.
func (p *loadPlan) layersIn(i int, name string, places int) (int, string, error) {
	c := p.in.Cookers[i]
	if places == 0 {
		return 0, p.tooWide(i, name), nil
	}
	said, isSaid := c.Layers[name]
	height, isTall := p.in.HeightsMM[name]
	if c.HeightMM == nil || !isTall {
		if !isSaid {
			return 0, "", figure.Faultf(fmt.Sprintf("cookers[%d].layers.%s", i, name), "give its layers, or height_mm and heights_mm",
				"nothing tells how many layers of %s go into %s", name, c.Name)
		}
		return said, "", nil
	}
	fit := int(math.Floor((*c.HeightMM + p.in.DividerMM + 1e-9) / (height + p.in.DividerMM)))
	if fit == 0 {
		return 0, fmt.Sprintf("%g mm high, it does not go into %s with %g mm", height, c.Name, *c.HeightMM), nil
	}
	if isSaid && said > fit {
		p.shortened = append(p.shortened, fmt.Sprintf("%d of %d layers of %s in %s", fit, said, name, c.Name))
	}
	if isSaid && said < fit {
		return said, "", nil
	}
	return fit, "", nil
}

// places is what cooker i takes of container c in one cook.
func (p *loadPlan) places(i, c int) int { return p.perLayer[i][c] * p.layers[i][c] }
