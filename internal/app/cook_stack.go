package app

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// stack is what stands in a cook, layer by layer.
type stack struct {
	layers map[int][]lab.Container // by layer; 0 is not said
	pieces map[int]map[string]int  // by layer and name of the container
}

func newStack() *stack {
	return &stack{layers: make(map[int][]lab.Container), pieces: make(map[int]map[string]int)}
}

// stackOf reads what stands in a cook.
func stackOf(ctx context.Context, r store.Reader, c lab.Cook) (*stack, error) {
	s := newStack()
	jars, err := r.Jars(ctx, store.JarFilter{Cooks: []lab.CookID{c.ID}})
	if err != nil {
		return nil, err
	}
	known := make(map[lab.ContainerID]lab.Container)
	for _, j := range jars {
		if j.Container == "" {
			continue
		}
		if _, ok := known[j.Container]; !ok {
			if known[j.Container], err = r.Container(ctx, j.Container); err != nil {
				return nil, err
			}
		}
		s.put(j.Layer, known[j.Container], 1)
	}
	items, err := r.CookItems(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	for _, i := range lab.Current(items) {
		if i.Figures.Container == "" {
			continue
		}
		own, err := r.ContainerByName(ctx, i.Figures.Container)
		if err != nil {
			return nil, err
		}
		s.put(i.Figures.Layer, own, i.Count)
	}
	return s, nil
}

// put sets n vessels of one kind on a layer.
func (s *stack) put(layer int, c lab.Container, n int) {
	if s.pieces[layer] == nil {
		s.pieces[layer] = make(map[string]int)
	}
	s.pieces[layer][c.Name] += n
	if !slices.ContainsFunc(s.layers[layer], func(x lab.Container) bool { return x.ID == c.ID }) {
		s.layers[layer] = append(s.layers[layer], c)
	}
}

// otherSize names a vessel of the stack that is not c, "" if there is none.
func (s *stack) otherSize(c lab.Container) string {
	for _, layer := range s.layers {
		for _, x := range layer {
			if x.ID != c.ID {
				return x.Name
			}
		}
	}
	return ""
}

// checkHeight refuses a stack that is higher than the room from rack to lid.
// Heights are those inside the vessels, so that bottoms and lids come on top.
func (s *stack) checkHeight(field string, cooker lab.Cooker) error {
	f := cooker.Figures
	if f.RoomMM == nil {
		return nil
	}
	divider := 0.0
	if f.DividerMM != nil {
		divider = *f.DividerMM
	}
	need, layers := 0.0, 0
	var names []string
	for _, layer := range slices.Sorted(maps.Keys(s.layers)) {
		high := slices.MaxFunc(s.layers[layer], func(a, b lab.Container) int { return cmp.Compare(a.Height, b.Height) })
		if high.Height <= 0 {
			continue
		}
		h := float64(high.Height)
		if layer == 0 { // somewhere: it must fit by itself
			if h > *f.RoomMM {
				return tooHigh(field, []string{fmt.Sprintf("%s of %.0f mm", high.Name, h)}, h, cooker)
			}
			continue
		}
		need, layers = need+h, layers+1
		names = append(names, fmt.Sprintf("%s of %.0f mm", high.Name, h))
	}
	if layers > 1 {
		need += float64(layers-1) * divider
	}
	if need <= *f.RoomMM {
		return nil
	}
	if divider > 0 && layers > 1 {
		plates := "1 plate"
		if layers > 2 {
			plates = fmt.Sprintf("%d plates", layers-1)
		}
		names = append(names, fmt.Sprintf("%s of %.4g mm", plates, divider))
	}
	return tooHigh(field, names, need, cooker)
}

// checkRoom refuses cooks of a plan that are higher than their cooker.
func checkRoom(ctx context.Context, r store.Reader, in PlanInput, arms []resolvedArm) error {
	entries, err := r.Cookers(ctx)
	if err != nil {
		return err
	}
	for i, c := range in.Cooks {
		cooker, known := cookerFor(entries, c.Cooker)
		if !known {
			continue
		}
		s := newStack()
		for layer := range c.Places {
			for _, a := range arms {
				if a.container.ID != "" && (a.cook == 0 || a.cook == i+1) && (a.layer == 0 || a.layer == layer+1) {
					s.put(layer+1, a.container, 1)
				}
			}
		}
		if err := s.checkHeight("places", cooker); err != nil {
			return err
		}
	}
	return nil
}

func tooHigh(field string, parts []string, need float64, cooker lab.Cooker) error {
	return lab.Invalidf(field, "cook fewer layers, or take a cooker that is higher; leave room for lids and steam besides",
		"the load is %.0f mm high (%s), and %s has %.0f mm from rack to lid", need, strings.Join(alikeOnce(parts), ", "), cooker.Name, *cooker.Figures.RoomMM)
}

// alikeOnce writes parts that follow each other and are alike once, with how
// many they are.
func alikeOnce(parts []string) []string {
	var out []string
	for i := 0; i < len(parts); {
		n := 1
		for i+n < len(parts) && parts[i+n] == parts[i] {
			n++
		}
		text := parts[i]
		if n > 1 {
			text = fmt.Sprintf("%d × %s", n, text)
		}
		out, i = append(out, text), i+n
	}
	return out
}
