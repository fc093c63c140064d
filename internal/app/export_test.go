package app

// Reckoned counts the answers that the farm computed for trials and keeps.
func Reckoned(f *Farm) int {
	k := f.known
	return k.verdicts.made() + k.stages.made() + k.covers.made() + k.pools.made() + k.alone.made()
}

func (a *answers[In, Out]) made() int {
	a.mu.Lock()
	defer a.mu.Unlock()
	n := len(a.young)
	for key := range a.aged {
		if _, young := a.young[key]; !young {
			n++
		}
	}
	return n
}
