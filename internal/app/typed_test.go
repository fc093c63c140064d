package app_test

import (
	"fmt"
	"testing"

	"pinset/internal/app"
)

// TestAmountsAreShownBothWays types weights and volumes as kitchens have them:
// the jar tells what was typed, and what it comes to.
// An avoirdupois ounce is 28.349523125 g, a US fluid ounce 29.5735295625 mL:
// NIST SP 811 (2008), B.8.
func TestAmountsAreShownBothWays(t *testing.T) {
	onSQLite(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("line"), 60)
		batch := k.Batch.String()
		for i, typed := range []string{"1/2 fl oz", "3 mL", "3ml"} {
			rest := fmt.Sprintf("%d–12", i+2)
			must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: batch, Except: rest, Amount: typed}))(b)
		}
		for jar, typed := range map[string]string{"1": "0.4 oz", "2": "12.5", "3": "12.5 g"} {
			must(b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: []app.TypedPick{{Jar: batch + "·" + jar, Grams: typed}}}))(b)
		}
		for jar, want := range map[string][]string{
			"1": {"picked 11.34 g (0.4 oz), flush 1", "inoculated with 1/2 fl oz, 14.79 mL LC-1"},
			"2": {"picked 12.5 g, flush 1", "inoculated with 3 mL LC-1"},
			"3": {"picked 12.5 g, flush 1", "inoculated with 3ml LC-1"},
		} {
			history := must(b.JarView(b.ctx, batch+"·"+jar))(b).History
			for i, w := range want {
				if i >= len(history) || history[i].What != w {
					t.Errorf("jar %s: %+v, want %q", jar, history, w)
				}
			}
		}
	})
}
