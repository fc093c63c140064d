package thermal

import "fmt"

// medium is how a substrate holds and conducts heat. It is kept as a table
// over the heat content, so that a step conserves heat whatever the heat
// capacity does: the heat is stepped, and the rest is read from it.
//
// What drives heat from cell to cell is the drive, the integral of the
// conductivity over the temperature (Kirchhoff): its difference over the
// distance is the flow exactly, however the conductivity changes in between.
type medium struct {
	step     float64   // of heat content between entries, J/m3
	temp     []float64 // °C
	conduct  []float64 // W/mK
	capacity []float64 // J/m3K, the slope to the next entry
	drives   lines     // W/m
}

// lines is a table of straight lines over the heat content.
type lines struct {
	perStep float64
	line    []line
}

// line goes straight from an entry of the table to the next one.
type line struct{ from, slope float64 }

// at reads the table at the heat content e. Contents beyond it are carried on
// straight.
func (l lines) at(e float64) float64 {
	x := e * l.perStep
	i := min(max(int(x), 0), len(l.line)-1)
	return l.line[i].from + (x-float64(i))*l.line[i].slope
}

// hottest and coldest bound the temperatures of a medium, °C.
const coldest, hottest = 0.0, 150.0

// constantMedium has the conductivity k (W/mK) and the heat capacity c
// (J/m3K) at all temperatures.
func constantMedium(k, c float64) *medium {
	m := &medium{
		step: c * (hottest - coldest), temp: []float64{coldest, hottest},
		conduct: []float64{k, k}, capacity: []float64{c, c},
	}
	m.finish()
	return m
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
	m.capacity = make([]float64, len(m.temp))
	for i := range m.temp[1:] {
		m.capacity[i] = m.step / (m.temp[i+1] - m.temp[i])
	}
	m.capacity[len(m.temp)-1] = m.capacity[len(m.temp)-2]
	m.finish()
	return m, nil
}

// finish fills what follows from the rest.
func (m *medium) finish() {
	m.drives = lines{perStep: 1 / m.step, line: make([]line, len(m.temp)-1)}
	drive := 0.0
	for i := range m.drives.line {
		rise := (m.temp[i+1] - m.temp[i]) * (m.conduct[i] + m.conduct[i+1]) / 2
		m.drives.line[i] = line{from: drive, slope: rise}
		drive += rise
	}
}

// times returns m with its conductivity multiplied.
func (m *medium) times(factor float64) *medium {
	out := *m
	out.conduct = make([]float64, len(m.conduct))
	for i, k := range m.conduct {
		out.conduct[i] = k * factor
	}
	out.finish()
	return &out
}

// typical returns the conductivity and the heat capacity where the
// diffusivity is greatest below t (°C).
func (m *medium) typical(t float64) (conduct, capacity float64) {
	conduct, capacity = m.conduct[0], m.capacity[0]
	for i, k := range m.conduct {
		if m.temp[i] <= t && k*capacity > conduct*m.capacity[i] {
			conduct, capacity = k, m.capacity[i]
		}
	}
	return conduct, capacity
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
func (m *medium) place(e float64) (int, float64) {
	x := e * m.drives.perStep
	i := min(max(int(x), 0), len(m.temp)-2)
	return i, x - float64(i)
}

// read returns temperature and conductivity at the heat content e.
func (m *medium) read(e float64) (temp, conduct float64) {
	i, x := m.place(e)
	return m.temp[i] + x*(m.temp[i+1]-m.temp[i]), m.conduct[i] + x*(m.conduct[i+1]-m.conduct[i])
}
