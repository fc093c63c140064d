package web

import "testing"

// BenchmarkPages asks for pages of a farm with a trial of 24 jars.
func BenchmarkPages(b *testing.B) {
	x := newSite(b, Options{})
	x.stock()
	x.grown(x.batch(12))
	for name, path := range map[string]string{
		"today": "/", "batch": "/batches/B1", "rounds": "/batches/B1/rounds", "bench": "/batches/B1/bench", "verdict": "/trials/rice%20or%20millet",
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				x.get(path).status(200)
			}
		})
	}
}
