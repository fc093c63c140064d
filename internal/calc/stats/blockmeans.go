package stats

import "fmt"

// Means returns the mean of each arm as it would be over the blocks as filled:
// every block of two jars or more counts by its jars, whichever arm they were
// of. Without blocks these are the plain means. cov is their HC2 covariance;
// mean[b]-mean[a] is the value of Difference(a, b).
//
// Means of arms that no chain of blocks joins are each over their own blocks
// and can not be compared. Blocks of one jar are left out, since nothing tells
// their level from the jar.
//
// ErrFew if an arm has no jar, or hangs on a jar that nothing else checks; see
// PairMeans for two arms of many.
func (f *BlockFit) Means() (mean []float64, cov [][]float64, err error) {
	all := make([]int, f.arms)
	for g := range all {
		all[g] = g
	}
	return f.meansOf(all)
}

// PairMeans is Means for the arms a and b alone, so that a third arm with too
// few jars does not stand in the way: the two means, their variances and their
// covariance, in the order in which Fieller takes them. Errors are those of
// Means and Difference.
func (f *BlockFit) PairMeans(a, b int) (mb, ma, vb, va, cov float64, err error) {
	if err := f.joined(a, b); err != nil {
		return 0, 0, 0, 0, 0, err
	}
	m, c, err := f.meansOf([]int{a, b})
	if err != nil {
		return 0, 0, 0, 0, 0, err
	}
	return m[1], m[0], c[1][1], c[0][0], c[0][1], nil
}

func (f *BlockFit) meansOf(arms []int) ([]float64, [][]float64, error) {
	mean, weights := make([]float64, len(arms)), make([][]float64, len(arms))
	for i, g := range arms {
		if f.counts[g] == 0 {
			return nil, nil, fmt.Errorf("stats: arm %d has no values: %w", g, ErrFew)
		}
		jars := f.jarsAround(g)
		if jars == 0 {
			return nil, nil, fmt.Errorf("stats: arm %d has only blocks of one jar: %w", g, ErrFew)
		}
		mean[i], weights[i] = f.meanOf(g, jars)
	}
	cov := make([][]float64, len(arms))
	for i := range cov {
		cov[i] = make([]float64, len(arms))
		for j := range i + 1 {
			v, err := f.hc2(weights[i], weights[j])
			if err != nil {
				return nil, nil, fmt.Errorf("stats: means of arms %d and %d: %w", arms[i], arms[j], err)
			}
			cov[i][j], cov[j][i] = v, v
		}
	}
	return mean, cov, nil
}

// jarsAround counts the jars in blocks of two or more in the component of arm g.
func (f *BlockFit) jarsAround(g int) float64 {
	jars := 0.0
	for _, b := range f.blocks {
		if b.home == f.home[g] && b.n > 1 {
			jars += b.n
		}
	}
	return jars
}

// meanOf returns the mean of arm g over those blocks, and the weight of each
// cell's jars in it.
func (f *BlockFit) meanOf(g int, jars float64) (float64, []float64) {
	mix := make([]float64, f.arms) // arm g less the mix of arms in the blocks
	mix[g] = 1
	var level total
	for _, b := range f.blocks {
		if b.home != f.home[g] || b.n == 1 {
			continue
		}
		level.add(b.n / jars * (b.mean - f.blocks[0].mean))
		for _, c := range f.cells[b.first:b.last] {
			mix[c.arm] -= c.n / jars
		}
	}
	u := make([]float64, f.arms)
	f.times(u, mix)
	weights := f.within(u)
	for k, c := range f.cells {
		if b := f.blocks[c.block]; b.home == f.home[g] && b.n > 1 {
			weights[k] += 1 / jars
		}
	}
	return f.blocks[0].mean + level.value() + dot(mix, f.tau), weights
}
