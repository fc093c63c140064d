package browsertest

import (
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// TestRangeThenExceptions goes through a batch in the dark room on a phone:
// jars 1–6 to the light, two exceptions, one of them taken back. It does so
// by numbers, with scripts and without, and sees the records agree.
func TestRangeThenExceptions(t *testing.T) {
	t.Parallel()
	for name, scripts := range map[string]bool{"with scripts": true, "without": false} {
		t.Run(name, func(t *testing.T) {
			x := onShelves(t)
			b := newTab(t, x, phone)
			if !scripts {
				b.withoutScripts()
			}
			b.system("light")
			b.open("/batches/B1/rounds")
			b.follow("Dark room: red and amber only", 200)
			enters := func(numbers, press string) {
				t.Helper()
				b.clock.add(time.Minute)
				b.fill("Or write numbers", numbers)
				b.follow(press, 200)
				b.isDark("after "+press, true)
			}
			enters("J1–J6", "in the light")
			b.says("in the light")
			enters("3", "green")
			enters("5", "drops")
			b.follow("Undo", 200)
			if scripts {
				b.look("phone rounds in the dark room", "/batches/B1/rounds")
				b.theme("dim")
			}
			b.shot("dim-range-" + name)
			want := map[int]lab.Sign{3: "green"}
			for n := 1; n <= 7; n++ {
				v := must[app.JarView](t)(x.farm.JarView(t.Context(), "B1·"+lab.ShowNumbers([]int{n})))
				if lit := v.Row.Stage == lab.Light; lit != (n <= 6) {
					t.Errorf("jar %d: stage %q", n, v.Row.Stage)
				}
				for _, h := range v.History {
					if sign := h.What == "green" || h.What == "drops"; sign && !h.Undone && h.What != string(want[n]) {
						t.Errorf("jar %d: %q stands", n, h.What)
					}
				}
			}
			if got := must[app.JarView](t)(x.farm.JarView(t.Context(), "B1·3")).History[0]; got.What != "green" || got.Undone {
				t.Errorf("jar 3: %+v", got)
			}
			if got := must[app.JarView](t)(x.farm.JarView(t.Context(), "B1·5")).History[0]; got.What != "drops" || !got.Undone {
				t.Errorf("jar 5: %+v", got)
			}
		})
	}
}
