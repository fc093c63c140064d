package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
)

// What fouled jars speak against is suspected, and so is what was taken from
// it; a sister that stayed clean is not, and the line goes back past it.
func TestFouledJarsMakeACultureSuspect(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.fouledFarm()
		must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-4", Form: "LC", Parent: "LC-3", Made: "2026-03-01"}))(b)
		must(b.AddCulture(b.ctx, app.NewCulture{Name: "P-9", Form: "plate", Parent: "LC-4", Made: "2026-03-02"}))(b)
		says := func(name string) string {
			for _, c := range must(b.CultureView(b.ctx, name))(b).Cautions {
				if c.Code == "suspect" {
					return c.Text
				}
			}
			return ""
		}
		if got := says("LC-3"); !strings.Contains(got, "LC-3") || !strings.Contains(got, "of 24") {
			t.Errorf("of LC-3 it says %q", got)
		}
		for _, child := range []string{"LC-4", "P-9"} {
			if got := says(child); !strings.Contains(got, "taken from LC-3") {
				t.Errorf("of %s it says %q", child, got)
			}
		}
		if got := says("LC-1"); got != "" {
			t.Errorf("of LC-1 it says %q", got)
		}
	})
}
