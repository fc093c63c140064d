package stats

import (
	"math"
	"testing"
)

func BenchmarkPermutationTwoByThirty(b *testing.B) {
	x, y := trialL(b)
	var p float64
	for b.Loop() {
		var err error
		if p, err = PermutationMeans(x, y); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(p, "p")
}

func BenchmarkPermutationRerunMillion(b *testing.B) {
	x, z := trialL(b)
	y, arm := together(x, z)
	for b.Loop() {
		PermutationRerun(y, arm, 1_000_000, shuffles(arm, 1), meanGap)
	}
}

func BenchmarkPermutationTwelveByTwelveOffGrid(b *testing.B) {
	x, z := trialL(b)
	for b.Loop() {
		if _, err := PermutationMeans(logs(x[:12]), logs(z[:12])); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPermutationTwoByHundred(b *testing.B) {
	y, arm, _ := large(200)
	for i, v := range y {
		y[i] = math.Round(10*v) / 10
	}
	for name, values := range map[string][]float64{"tenths": y, "logarithms": logs(y)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, _, err := PermutationBlocked(values, arm, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkPermutationDrawsMillion(b *testing.B) {
	x, z := trialL(b)
	y, arm := together(x, z)
	var p float64
	for b.Loop() {
		var err error
		if p, err = PermutationDraws(y, arm, nil, 1_000_000, 1); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(p, "p")
}
