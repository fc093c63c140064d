package trialstat

import (
	"fmt"
	"testing"
)

func BenchmarkCompare(b *testing.B) {
	for _, c := range []struct{ arms, jars int }{{2, 6}, {2, 100}, {4, 50}, {12, 16}, {2, 2000}} {
		in := CompareInput{ArmsDifferIn: []string{"recipe"}, Rows: manyArms(c.arms, c.jars)}
		b.Run(fmt.Sprintf("%dx%d", c.arms, c.jars), func(b *testing.B) {
			for range b.N {
				if _, err := Compare(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A trial of 200 jars with its own draw run again and again.
func BenchmarkCompareWithRedraw(b *testing.B) {
	d := Design{Arms: []int{100, 100}, Cells: cooker(4, 17, 17, 16)}
	l, err := Allot(d, 1)
	if err != nil {
		b.Fatal(err)
	}
	redraw, err := Redraw(d, 1)
	if err != nil {
		b.Fatal(err)
	}
	in := CompareInput{Rows: drawnRows(l, 5, 1)}
	for b.Loop() {
		if _, err := CompareWith(in, redraw); err != nil {
			b.Fatal(err)
		}
	}
}
