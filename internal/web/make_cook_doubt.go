package web

import (
	"slices"

	"pinset/internal/figure"
)

// always are the codes of cautions that hold of every cook, and of every
// figure about one. What is said of this one alone must not drown in them.
var always = []string{
	"vent_first", "altitude", "do_not_exceed", "target_not_reached", "wall_assumed", "do_not_overload", "wet_heat_only", "model", "estimate",
	"opening", "cooling_counts", "inoculate_cold", "glass", "manual_first", "never_dry", "vent_unknown", "full_burner", "hob", "boil_over", "liquid", "gel", "sensor",
}

// ofAll reports whether c holds of every cook. A note is never urgent.
func ofAll(c figure.Caution) bool {
	return c.Weight == figure.Note || c.Weight != figure.Stop && slices.Contains(always, c.Code)
}

// ownDoubts are those of list that are said of this cook alone, without what
// another of them says better.
func ownDoubts(list []figure.Caution) []figure.Caution {
	misses := slices.ContainsFunc(list, func(c figure.Caution) bool { return c.Code == "core_below_target" })
	return slices.DeleteFunc(slices.Clone(list), func(c figure.Caution) bool { return ofAll(c) || misses && c.Code == "core_lags" })
}

// usualDoubts are those of list that hold of every cook.
func usualDoubts(list []figure.Caution) []figure.Caution {
	return slices.DeleteFunc(slices.Clone(list), func(c figure.Caution) bool { return !ofAll(c) })
}

// Doubts are the cautions of this cook beside those that must be settled
// first, Usual those that hold of every cook.
func (p *cookPage) Doubts() []figure.Caution {
	return slices.DeleteFunc(ownDoubts(p.Cautions), func(c figure.Caution) bool { return c.Weight == figure.Stop })
}

// Usual are the cautions that hold of every cook.
func (p *cookPage) Usual() []figure.Caution { return usualDoubts(p.Cautions) }

// CoreDoubts are the cautions about what the cores of this cook got, CoreUsual
// those that hold of every such figure.
func (p *cookPage) CoreDoubts() []figure.Caution { return ownDoubts(p.Run.Core.Cautions) }

// CoreUsual are the cautions that hold of every figure about a core.
func (p *cookPage) CoreUsual() []figure.Caution { return usualDoubts(p.Run.Core.Cautions) }
