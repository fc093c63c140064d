// Command trials simulates comparisons whose truth is known, and tabulates how
// often the interval of the default path holds it, and how often a difference
// that is not there is called supported. Of four arms, three are set against a
// control: all three intervals must hold, and none may be called supported.
//
//	go run ./bench/trials -reps 2000 -seed 1
//	go run ./bench/trials -reps 1000 -seed 1 -over-cooks
package main

import (
	"flag"
	"fmt"
	"log"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"text/tabwriter"

	"pinset/internal/calc/trialstat"
)

// world is where jars come from.
type world struct {
	arms   int
	jars   int     // of each arm, half of them in each of two layers
	zeros  float64 // share of jars that are lost or barren, of either arm
	spread float64 // SD of arm B over that of A
	cooks  int     // each with its own level and its own makings
	slip   float64 // SD of a making, as a share of the mean
	worse  float64 // added to the zeros of arm B
}

// cvA is the spread of picked jars of arm A; layerStep what the top layer adds.
const (
	meanGrams = 100
	cvA       = 0.15
	layerStep = 10
	cookSD    = 10
)

func main() {
	reps := flag.Int("reps", 2000, "trials for each row")
	seed := flag.Uint64("seed", 1, "seed of the simulation")
	arms := flag.Int("arms", 0, "only trials of so many arms; all if 0")
	cooks := flag.Int("cooks", 0, "only trials of so many cooks; all if 0")
	over := flag.Bool("over-cooks", false, "trials over 3 to 6 cooks, judged from cook to cook")
	flag.Parse()
	if *over {
		if err := overCooks(os.Stdout, *reps, *seed); err != nil {
			log.Fatal(err)
		}
		return
	}
	out := tabwriter.NewWriter(os.Stdout, 0, 0, 1, ' ', 0)
	fmt.Fprintln(out, "| arms\t| jars an arm\t| zeros\t| spread of B over A\t| cooks\t| slip of a mixing\t| verdicts\t| interval holds the truth\t| false supported\t| median width, %\t|")
	fmt.Fprintln(out, "|--\t|--\t|--\t|--\t|--\t|--\t|--\t|--\t|--\t|--\t|")
	for k, w := range worlds() {
		if *arms > 0 && w.arms != *arms || *cooks > 0 && w.cooks != *cooks {
			continue
		}
		if err := row(out, w, *reps, rand.New(rand.NewPCG(*seed, uint64(k)))); err != nil {
			log.Fatal(err)
		}
	}
}

func worlds() []world {
	var out []world
	for _, jars := range []int{3, 4, 6, 8, 12} {
		for _, zeros := range []float64{0, 0.1, 0.3, 0.5} {
			out = append(out, world{arms: 2, jars: jars, zeros: zeros, spread: 1, cooks: 1})
		}
		out = append(out, world{arms: 2, jars: jars, zeros: 0.1, spread: 2, cooks: 1})
		out = append(out, world{arms: 2, jars: jars, zeros: 0.1, worse: 0.2, spread: 1, cooks: 1})
	}
	for _, jars := range []int{6, 12} {
		out = append(out,
			world{arms: 2, jars: jars, zeros: 0.1, spread: 1, cooks: 1, slip: 0.05},
			world{arms: 2, jars: jars, zeros: 0.1, spread: 1, cooks: 3, slip: 0.05})
	}
	for _, jars := range []int{4, 6, 12} {
		for _, zeros := range []float64{0, 0.3} {
			out = append(out, world{arms: 4, jars: jars, zeros: zeros, spread: 1, cooks: 1}, world{arms: 4, jars: jars, zeros: zeros, spread: 2, cooks: 1})
		}
	}
	return out
}

// row simulates one world and writes its line.
func row(out *tabwriter.Writer, w world, reps int, chance *rand.Rand) error {
	verdicts, held, wrong := 0, 0, 0
	var widths []float64
	for range reps {
		in, truth := w.trial(chance)
		answer, err := trialstat.Compare(in)
		if err != nil {
			return err
		}
		said, all, astray := false, true, false
		for k, c := range answer.Result.Comparisons {
			x := c.Decides()
			low, high := x.Low, x.High
			if c.Ending == trialstat.NoComparison || low == nil {
				continue
			}
			said = true
			all = all && *low <= truth && truth <= *high
			// Supported is false where there is no difference, or the other way round.
			astray = astray || c.Ending == trialstat.Supported && *x.Value*truth <= 0
			if k == 0 {
				widths = append(widths, *high-*low)
			}
		}
		if !said {
			continue
		}
		verdicts++
		held += count(all)
		wrong += count(astray)
	}
	zeros := percent(w.zeros)
	if w.worse > 0 {
		zeros += " and " + percent(w.zeros+w.worse)
	}
	fmt.Fprintf(out, "| %d\t| %d\t| %s\t| %g\t| %d\t| %s\t| %s\t| %s\t| %s\t| %s\t|\n", w.arms, w.jars, zeros, w.spread, w.cooks, percent(w.slip),
		share(verdicts, reps), share(held, verdicts), share(wrong, verdicts), middle(widths))
	return out.Flush()
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

// trial draws one trial in w: arms over two layers and w.cooks cooks, and the
// true difference of B and the control A in grams per jar inoculated.
func (w world) trial(chance *rand.Rand) (trialstat.CompareInput, float64) {
	in := trialstat.CompareInput{ArmsDifferIn: []string{"recipe"}, Control: "A", Seed: new(uint64)}
	whole := 0.0
	for cook := range w.cooks {
		level := meanGrams + cookSD*chance.NormFloat64()
		whole += (level + layerStep/2) * float64(dealt(w.jars, cook, w.cooks)) / float64(w.jars)
		for arm, name := range []trialstat.Label{"A", "B", "C", "D"}[:w.arms] {
			sd, zeros := cvA*meanGrams, w.zeros
			if arm == 1 {
				sd, zeros = sd*w.spread, zeros+w.worse
			}
			making := w.slip * meanGrams * chance.NormFloat64()
			for n := range dealt(w.jars, cook, w.cooks) {
				layer := n % 2
				r := trialstat.CompareRow{
					Jar: trialstat.Label(fmt.Sprintf("%s%d.%d", name, cook, n)), Arm: name, Fate: "lost",
					Cook: trialstat.Label(strconv.Itoa(cook)), Layer: trialstat.Label(strconv.Itoa(layer)),
				}
				if chance.Float64() >= zeros {
					grams := max(0, level+making+float64(layer*layerStep)+sd*chance.NormFloat64())
					r.Fate, r.Value = "picked", &grams
				}
				in.Rows = append(in.Rows, r)
			}
		}
	}
	return in, -w.worse * whole
}

// dealt is how many of an arm's jars go into one of the cooks.
func dealt(jars, cook, cooks int) int { return jars*(cook+1)/cooks - jars*cook/cooks }

func percent(x float64) string { return strconv.FormatFloat(math.Round(1000*x)/10, 'f', -1, 64) + " %" }

func share(k, n int) string {
	if n == 0 {
		return "none"
	}
	return strconv.FormatFloat(100*float64(k)/float64(n), 'f', 1, 64) + " %"
}

func middle(x []float64) string {
	if len(x) == 0 {
		return "none"
	}
	slices.Sort(x)
	return strconv.FormatFloat(x[len(x)/2], 'f', 0, 64)
}
