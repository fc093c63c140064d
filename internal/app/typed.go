package app

import (
	"strings"

	"pinset/internal/units"
)

// bothWays is an amount as it was typed and as it is kept, where they differ:
// "0.4 oz, 11.34 g". What is no amount stays as it was typed.
func bothWays(typed string) string {
	typed = strings.TrimSpace(typed)
	q, err := units.Parse(typed)
	if err != nil {
		return typed
	}
	kept, usual := "", ""
	switch q.Dim {
	case units.Mass:
		kept, usual = units.Gram(q.Value).String(), "g"
	case units.Volume:
		kept, usual = units.Millilitre(q.Value).String(), "ml"
	}
	if kept == "" || strings.TrimLeft(strings.ToLower(strings.ReplaceAll(typed, " ", "")), "0123456789.,") == usual {
		return typed
	}
	return typed + ", " + kept
}
