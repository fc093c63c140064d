package app

import (
	"fmt"
	"maps"
	"slices"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// leastGap is how thick a plate or rack between two layers has to be for
// steam to get between bags, mm: a finger's width. Common practice, no source.
const leastGap = 10

// highestStack is how high a stack is reckoned, mm: the model takes no more.
const highestStack = 600

// bagLayers is how many layers of bags lie on each other.
func (s *stack) bagLayers() int {
	most, run := 0, 0
	last := -1
	for _, layer := range slices.Sorted(maps.Keys(s.layers)) {
		if layer == 0 || !slices.ContainsFunc(s.layers[layer], func(c lab.Container) bool { return c.Kind == "bag" }) {
			continue
		}
		if run++; layer != last+1 {
			run = 1
		}
		most, last = max(most, run), layer
	}
	return most
}

// stackBags takes bags that lie on each other as one that is as high as all
// of them: on layers with no rack between, or as the grower said.
func (c *cookFacts) stackBags(s *stack) {
	layers := s.bagLayers()
	if c.cooker != nil && c.cooker.Figures.DividerMM != nil && *c.cooker.Figures.DividerMM >= leastGap {
		layers = 1 // a rack parts them
	}
	for i := range c.vessels {
		v := &c.vessels[i]
		if !v.bag || v.mode == "liquid" {
			continue
		}
		said := v.container.Stacked
		n := max(said, 1) * max(layers, 1)
		if said == 1 {
			n = 1 // each on a rack, as the grower said
		}
		v.container.Stacked = 0
		if n > 1 {
			v.container.Stacked = max(min(n, 10, int(highestStack/v.FillMM)), 1)
			if doubt := stackedCaution(*v, n); !slices.Contains(c.itemDoubts, doubt) {
				c.itemDoubts = append(c.itemDoubts, doubt)
			}
		}
	}
}

// stackedCaution speaks of n bags on each other.
func stackedCaution(v CookVessel, n int) figure.Caution {
	text := fmt.Sprintf("%d of %s, filled to %.0f mm, lie on each other as far as the records know: they are reckoned as one of %.0f mm, for no steam gets between.", n, v.Name, v.FillMM, float64(n)*v.FillMM)
	if float64(n)*v.FillMM > highestStack {
		text = fmt.Sprintf("%d of %s, filled to %.0f mm, lie on each other as far as the records know: %.0f mm, whose middle would not get hot in a day. %d of them are reckoned as one.", n, v.Name, v.FillMM, float64(n)*v.FillMM, v.container.Stacked)
	}
	return figure.Caution{
		Code: "stacked", Title: "Bags on each other heat as one", Weight: figure.Stop,
		Text: text + fmt.Sprintf(" Set each on a rack that leaves a finger's width, and say so: 1 on each other, or under Cookers a plate of %d mm or more between layers. The core is there far sooner.", leastGap),
	}
}

// crowd says which layers hold more than the grower counted for them.
func (c *cookFacts) crowd(s *stack) {
	if c.cooker == nil {
		return
	}
	for _, layer := range slices.Sorted(maps.Keys(s.pieces)) {
		if layer == 0 {
			continue
		}
		for _, name := range slices.Sorted(maps.Keys(s.pieces[layer])) {
			n := s.pieces[layer][name]
			for _, h := range c.cooker.Figures.Holds {
				if lab.NameKey(h.Container) == lab.NameKey(name) && n > h.PerLayer {
					c.itemDoubts = append(c.itemDoubts, figure.Caution{
						Code: "crowded", Title: "More in a layer than it takes", Weight: figure.Stop,
						Text: fmt.Sprintf("%d of %s stand in layer %d, and you counted %d for a layer of this cooker. Jars that touch share a side and heat as one that is wider: take %d out, or count again under Cookers.", n, name, layer, h.PerLayer, n-h.PerLayer),
					})
				}
			}
		}
	}
}
