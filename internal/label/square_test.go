package label

import (
	"math"
	"strings"
	"testing"
)

// The table of capacities against what the library writes: each is one
// character too long for the next smaller symbol.
func TestCapacities(t *testing.T) {
	for level, rows := range alphanumeric {
		for i, row := range rows {
			for _, n := range []int{1, row.holds} {
				if n == 1 && i > 0 {
					n = rows[i-1].holds + 1
				}
				q, err := NewSquare(strings.Repeat("A", n), level)
				if err != nil || q.Side > row.side || sideFor(level, n) != row.side {
					t.Errorf("%d characters at %s: %d modules, %v, want %d", n, level, q.Side, err, row.side)
				}
			}
		}
		if last := rows[len(rows)-1]; sideFor(level, last.holds+1) != 0 {
			t.Errorf("%d characters at %s have a symbol for a label", last.holds+1, level)
		}
	}
}

// Published: ISO/IEC 18004, capacity of the alphanumeric mode. An address of
// 28 characters fits 25 modules at M; a maker's example of 50 characters at M
// has 29.
func TestSideFor(t *testing.T) {
	for n, want := range map[int]int{28: 25, 38: 25, 39: 29, 50: 29} {
		if got := sideFor("M", n); got != want {
			t.Errorf("%d characters at M need %d modules, want %d", n, got, want)
		}
	}
}

// How wide a square may be on a jar: a sixth of the way around it. Computed:
// 36.65 mm on 70 mm, 45.03 on 86, 28.80 on 55.
func TestCurve(t *testing.T) {
	for diameter, want := range map[float64]float64{70: 36.65, 86: 45.03, 55: 28.80} {
		s := Square{Side: 1, module: want - 0.01}
		if most, ok := s.curve(diameter); !ok || math.Abs(most-want) > 0.005 {
			t.Errorf("on %g mm a square of %.2f mm: %v, at most %.3f, want %.2f", diameter, s.MM(), ok, most, want)
		}
		s.module = want + 0.01
		if _, ok := s.curve(diameter); ok {
			t.Errorf("on %g mm a square of %.2f mm is not too wide", diameter, s.MM())
		}
	}
	if _, ok := (Square{Side: 1, module: 40}).curve(0); !ok {
		t.Error("a square is too wide for a jar of which nothing is known")
	}
}

// A module is as many whole dots as there is room for, and none if the symbol
// would be too small for a phone.
func TestModuleFor(t *testing.T) {
	const dot = 25.4 / 600
	for _, c := range []struct {
		name string
		room room
		want float64 // dots
	}{
		{"room for more than is of use", room{100, 100, 100}, 17}, // 22 mm over 29 modules
		{"the height of the label, quiet zone and all", room{100, 100, 21.2}, 13},
		{"the height that can be printed on", room{16, 100, 100}, 13},
		{"the width, where 12 dots give 14.73 mm", room{100, 15.5, 100}, 0},
		{"too small", room{12, 12, 12}, 0},
	} {
		got := c.room.moduleFor(29, dot) / dot
		if math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %g dots, want %g", c.name, got, c.want)
		}
	}
	if got := (room{100, 17, 100}).moduleFor(33, 25.4/150); got != 0 {
		t.Errorf("a module of three coarse dots is taken: %g mm", got)
	}
	if level, m := (room{100, 100, 100}).choose(1000, dot); level != "" || m != 0 {
		t.Errorf("an address of 1000 characters gets %s, %g", level, m)
	}
	if level, _ := (room{16.2, 16.2, 100}).choose(60, dot); level != "M" {
		t.Errorf("where the modules of Q are below 0.5 mm the level is %q", level)
	}
}
