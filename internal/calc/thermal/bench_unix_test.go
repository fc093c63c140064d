//go:build unix

package thermal

import (
	"fmt"
	"syscall"
	"testing"
	"time"
)

// processor is the processor time that this process has used.
func processor(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// Processor time and error for several tolerances, to be set beside those of
// SciPy: see bench/thermal.
func BenchmarkFourHours(b *testing.B) {
	var fix course
	readFixture(b, "four_hours.json", &fix)
	grid, m := newCylinder(fix.Radius, fix.Height, fix.NR, fix.NZ), wetGrain(b)
	for _, p := range []pace{{2, 240}, {1, 240}, {0.3, 180}, usualPace, {0.03, 120}, {0.01, 90}, {0.003, 60}, {0.001, 30}} {
		b.Run(fmt.Sprintf("%gK,%gs", p.tol, p.longest), func(b *testing.B) {
			off, before := 0.0, processor(b)
			for b.Loop() {
				off = fix.run(b, grid, m, p)
			}
			b.ReportMetric(float64(processor(b)-before)/1e6/float64(b.N), "cpu-ms")
			b.ReportMetric(1000*off, "mK")
		})
	}
}
