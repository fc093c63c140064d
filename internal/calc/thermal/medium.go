package thermal

import "fmt"

// medium is how a substrate holds and conducts heat. It is kept as a table
// over the heat content, so that a step conserves heat whatever the heat
// capacity does: the heat is stepped, and the temperature read from it.
type medium struct {
	step     float64   // of heat content between entries, J/m3
	perStep  float64   // 1/step
	temp     []float64 // °C
	conduct  []float64 // W/mK
	capacity []float64 // J/m3K, the slope to the next entry
}

// hottest and coldest bound the temperatures of a medium, °C.
const coldest, hottest = 0.0, 150.0

// constantMedium has the conductivity k (W/mK) and the heat capacity c
// (J/m3K) at all temperatures.
func constantMedium(k, c float64) *medium {
	return &medium{
		step: c * (hottest - coldest), perStep: 1 / (c * (hottest - coldest)), temp: []float64{coldest, hottest},
		conduct: []float64{k, k}, capacity: []float64{c, c},
	}
}

// entries of a table over temperature, one per quarter of a kelvin.
const entries = 601

// newMedium tabulates a medium from k(t) (W/mK) and c(t) (J/m3K).
func newMedium(k, c func(t float64) (float64, error)) (*medium, error) {
	heat := make([]float64, entries) // content at even temperatures
	temps := make([]float64, entries)
	last := 0.0
	for i := range heat {
		temps[i] = coldest + (hottest-coldest)*float64(i)/(entries-1)
		v, err := c(temps[i])
		if err != nil {
			return nil, err
		}
		if !(v > 0) {
			return nil, fmt.Errorf("thermal: heat capacity %g J/m3K at %g °C", v, temps[i])
		}
		if i > 0 {
			heat[i] = heat[i-1] + (temps[i]-temps[i-1])*(v+last)/2
		}
		last = v
	}
	return tabulate(temps, heat, k)
}

// tabulate turns content over temperature into temperature over content.
func tabulate(temps, heat []float64, k func(t float64) (float64, error)) (*medium, error) {
	m := &medium{step: heat[len(heat)-1] / float64(len(heat)-1)}
	j := 0
	for i := range heat {
		e := m.step * float64(i)
		for j < len(heat)-2 && heat[j+1] < e {
			j++
		}
		t := min(temps[j]+(temps[j+1]-temps[j])*(e-heat[j])/(heat[j+1]-heat[j]), hottest)
		v, err := k(t)
		if err != nil {
			return nil, err
		}
		if !(v > 0) {
			return nil, fmt.Errorf("thermal: conductivity %g W/mK at %g °C", v, t)
		}
		m.temp, m.conduct = append(m.temp, t), append(m.conduct, v)
	}
	m.perStep = 1 / m.step
	m.capacity = make([]float64, len(m.temp))
	for i := range m.temp[1:] {
		m.capacity[i] = m.step / (m.temp[i+1] - m.temp[i])
	}
	m.capacity[len(m.temp)-1] = m.capacity[len(m.temp)-2]
	return m, nil
}

// content returns the heat content at t (°C), J/m3 above coldest.
func (m *medium) content(t float64) float64 {
	lo, hi := 0, len(m.temp)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; m.temp[mid] <= t {
			lo = mid
		} else {
			hi = mid
		}
	}
	return m.step*float64(lo) + (t-m.temp[lo])*m.capacity[lo]
}

// place returns the entry below the heat content e and the way to the next.
// Contents beyond the table are carried on straight.
func (m *medium) place(e float64) (int, float64) {
	x := e * m.perStep
	i := min(max(int(x), 0), len(m.temp)-2)
	return i, x - float64(i)
}

// uniform tells whether conductivity and capacity are constant.
func (m *medium) uniform() bool { return len(m.temp) == 2 }

// read fills temperature and conductivity of each cell from its heat content.
func (m *medium) read(heat, temp, conduct []float64) {
	if m.uniform() {
		for c, e := range heat {
			temp[c], conduct[c] = coldest+e/m.capacity[0], m.conduct[0]
		}
		return
	}
	for c, e := range heat {
		i, x := m.place(e)
		temp[c] = m.temp[i] + x*(m.temp[i+1]-m.temp[i])
		conduct[c] = m.conduct[i] + x*(m.conduct[i+1]-m.conduct[i])
	}
}

// capacities fills the heat capacity of each cell.
func (m *medium) capacities(heat, capacity []float64) {
	for c, e := range heat {
		i, _ := m.place(e)
		capacity[c] = m.capacity[i]
	}
}
