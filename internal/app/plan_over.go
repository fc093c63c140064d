package app

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// OverList is which jars of a batch are given one level of what arms are spread
// over.
type OverList struct {
	Is      string `json:"is"`    // such as person
	Level   string `json:"level"` // such as their initials
	Numbers string `json:"jars"`  // "1–3, 7"
}

// OverLists lists, for each level of what the arms are spread over, its jars.
func (p Plan) OverLists() []OverList {
	if p.Trial == nil {
		return nil
	}
	levels := make([][]int, 0, len(p.layout.Slots))
	for _, s := range p.layout.Slots {
		levels = append(levels, s.Over)
	}
	return overLists(p.Trial.Details.Over, levels, nil)
}

// overLists groups jars by level. levels has, for each slot of a draw, its levels;
// number the jar in it, or nil if that is the slot's own.
func overLists(over []lab.TrialOver, levels [][]int, number []int) []OverList {
	var out []OverList
	for k, o := range over {
		jars := make([][]int, len(o.Levels))
		for i, at := range levels {
			if k < len(at) && at[k] < len(jars) {
				n := i + 1
				if i < len(number) {
					n = number[i]
				}
				jars[at[k]] = append(jars[at[k]], n)
			}
		}
		for l, name := range o.Levels {
			if len(jars[l]) > 0 {
				out = append(out, OverList{o.Is, name, lab.ShowNumbers(slices.Sorted(slices.Values(jars[l])))})
			}
		}
	}
	return out
}

// madeDesign is what an allotment to the cooker keeps: the draw, and which jar
// numbers its slots became where that is not their own order.
type madeDesign struct {
	trialstat.Design
	Order []int `json:"order,omitempty"`
}

// overOf returns what the jars of a trial were given of what its arms are spread
// over, by the newest draw to the cooker.
func overOf(ctx context.Context, r store.Reader, t lab.Trial) ([]OverList, error) {
	if len(t.Details.Over) == 0 {
		return nil, nil
	}
	allotments, err := r.Allotments(ctx, t.ID)
	if err != nil {
		return nil, err
	}
	for i := len(allotments) - 1; i >= 0; i-- {
		if a := allotments[i]; a.Stage != lab.AtLight {
			return overDrawn(t, a)
		}
	}
	return nil, nil
}

// overDrawn draws an allotment again.
func overDrawn(t lab.Trial, a lab.Allotment) ([]OverList, error) {
	var d madeDesign
	if err := json.Unmarshal(a.Design, &d); err != nil {
		return nil, fmt.Errorf("read the design of %s: %w", t.Name, err)
	}
	layout, err := trialstat.Allot(d.Design, a.Seed)
	if err != nil {
		return nil, err
	}
	var levels [][]int
	for _, s := range layout.Slots {
		levels = append(levels, s.Over)
	}
	return overLists(t.Details.Over, levels, d.Order), nil
}
