package app

import (
	"context"
	"slices"
	"strings"

	"pinset/internal/calc/thermal"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// counted fills in the places of cooks that say none: what the grower counted
// for that cooker and the container of the plan. Without a name it is the one
// cooker that the farm has.
func counted(ctx context.Context, r store.Reader, in PlanInput) (PlanInput, error) {
	if !slices.ContainsFunc(in.Cooks, func(c PlanCook) bool { return len(c.Places) == 0 }) {
		return in, nil
	}
	entries, err := r.Cookers(ctx)
	if err != nil {
		return in, err
	}
	in.Cooks = slices.Clone(in.Cooks)
	for i := range in.Cooks {
		c := &in.Cooks[i]
		if len(c.Places) > 0 {
			continue
		}
		cooker, known := cookerFor(entries, c.Cooker)
		if !known {
			continue // checkPlan asks for the places
		}
		if c.Places = countedPlaces(cooker, in.containers()); c.Places == nil {
			if c.Places, err = packedPlaces(ctx, r, cooker, in.containers()); err != nil {
				return in, err
			}
			in.packed = c.Places != nil
		}
		if c.Places == nil {
			return in, lab.Invalidf("places", "write the jars that each layer takes, such as 7, 7, or count them once under Cookers; its inner diameter there lets them be estimated",
				"nothing says how many of %s %s holds", strings.Join(in.containers(), " and "), cooker.Name)
		}
		c.Cooker = cooker.Name
	}
	return in, nil
}

// cookerFor returns the cooker called name; of a farm that has one, that one.
func cookerFor(entries []lab.Cooker, name string) (lab.Cooker, bool) {
	if strings.TrimSpace(name) != "" {
		return lab.CookerNow(entries, name)
	}
	names := make(map[string]bool)
	for _, c := range lab.Current(entries) {
		names[lab.NameKey(c.Name)] = true
		name = c.Name
	}
	if len(names) != 1 {
		return lab.Cooker{}, false
	}
	return lab.CookerNow(entries, name)
}

// containers lists what the jars of the plan are, each once.
func (in PlanInput) containers() []string {
	var out []string
	add := func(name string) {
		if name = strings.TrimSpace(name); name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, a := range in.Arms {
		add(firstOf(a.Container, in.Container))
	}
	add(in.Container)
	return out
}

// countedPlaces is what the cooker was counted to hold of each container: the
// fewest, where there are several; nil if one was not counted.
func countedPlaces(c lab.Cooker, containers []string) []int {
	var out []int
	for _, name := range containers {
		i := slices.IndexFunc(c.Figures.Holds, func(h lab.CookerCapacity) bool { return lab.NameKey(h.Container) == lab.NameKey(name) })
		if i < 0 {
			return nil
		}
		h := c.Figures.Holds[i]
		places := slices.Repeat([]int{h.PerLayer}, h.Layers)
		if out == nil || len(places)*h.PerLayer < len(out)*out[0] {
			out = places
		}
	}
	return out
}

// What a glass jar is wider outside than in, the gap that steam needs between
// jars and to the wall, and what a lid adds to the height, mm. Common
// practice, no source.
const wallsMM, gapMM, lidMM = 10.0, 5.0, 10.0

// packedPlaces estimates what a cooker that was not counted holds, from its
// inner diameter and the containers' own: the fewest, where there are several.
// Nil if a measure is missing. Layers follow from its room, else there is one.
func packedPlaces(ctx context.Context, r store.Reader, c lab.Cooker, containers []string) ([]int, error) {
	f := c.Figures
	if f.BoreMM == nil || len(containers) == 0 {
		return nil, nil
	}
	var out []int
	for _, name := range containers {
		x, err := r.ContainerByName(ctx, name)
		if lab.IsKind(err, lab.NotFound) {
			return nil, nil
		}
		if err != nil || x.Bore <= 0 {
			return nil, err
		}
		n, layers := thermal.RoundsIn(*f.BoreMM, float64(x.Bore)+wallsMM, gapMM), 1
		if divider := 0.0; f.RoomMM != nil && x.Height > 0 {
			if f.DividerMM != nil {
				divider = *f.DividerMM
			}
			layers = int((*f.RoomMM + divider) / (float64(x.Height) + lidMM + divider))
		}
		if n < 1 || layers < 1 {
			return nil, lab.Invalidf("places", "choose a smaller jar, or check both measures", "%s does not go into %s", x.Name, c.Name)
		}
		if places := slices.Repeat([]int{n}, layers); out == nil || n*layers < len(out)*out[0] {
			out = places
		}
	}
	return out, nil
}

// sayPacked says that places were estimated, and not counted.
func (p *Plan) sayPacked() {
	if p.input.packed {
		p.addSentence("How many jars stand in a layer is estimated from the inner diameter of the cooker and the width of the jars: count them once, and write it down under Cookers.")
	}
}
