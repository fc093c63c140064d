package thermal

import (
	"math"
	"testing"
)

// stepBody heats b at start by a step of the surroundings for minutes and
// returns it.
func stepBody(t testing.TB, b *body, m *medium, f Faces, start, outside, minutes float64, p pace) *conduction {
	t.Helper()
	s := newConduction(b, m, start)
	if _, err := s.run(surround{minutes, outside, outside, f}, p, func(float64) bool { return true }); err != nil {
		t.Fatal(err)
	}
	return s
}

// centreOf reads the middle of the centre line.
func centreOf(s *conduction) float64 {
	p := newProbe(s, 0)
	z := s.body.upright()
	mid := z.edge[z.n()] / 2
	first := 0
	for first+3 < z.n() && z.centre[first+1] < mid-(z.centre[first+2]-z.centre[first+1]) {
		first++
	}
	return spot{first: first, weight: lagrange(z.centre[first:first+3], mid)}.read(p.last())
}

// fine is steps so small that only the cells are felt.
var fine = pace{tol: 0.002, longest: 30}

// pint is the cake of the checks: k 0.50 W/mK, diffusivity 1.45e-7 m2/s.
func pint() *medium { return constantMedium(0.50, 0.50/1.45e-7) }

var even = Faces{Side: 250, Top: 250, Base: 250}

// A cylinder of R 38 mm and H 95 mm, 250 W/m2K all round, 20 °C put into
// 121 °C: the series of slab x cylinder, 30 x 30 terms, computed by other
// hands and again here. A solver of 20 radial cells is to be within 0.15 °C,
// of 40 within 0.05 °C; the cells and steps of the calculator are in between.
func TestStepAgainstSeries(t *testing.T) {
	published := []struct{ min, want float64 }{
		{5, 20.0258},
		{10, 22.1306},
		{20, 40.3242},
		{30, 62.8587},
		{40, 80.9347},
		{60, 102.7234},
		{90, 115.4936},
		{120, 119.3476},
	}
	for _, c := range published {
		fo := 1.45e-7 * c.min * 60
		theta := slabTheta(250*0.0475/0.5, fo/(0.0475*0.0475), 0) * cylinderTheta(250*0.038/0.5, fo/(0.038*0.038), 0)
		near(t, "series", 121-101*theta, c.want, 1e-4)
	}
	for _, g := range []struct {
		nr, nz int
		pace   pace
		tol    float64
	}{{20, 40, fine, 0.15}, {40, 80, fine, 0.05}, {cellsAcross, 72, usualPace, 0.05}} {
		s := newConduction(newCylinder(0.038, 0.095, g.nr, g.nz), pint(), 20)
		last := 0.0
		for _, c := range published {
			if _, err := s.run(surround{c.min - last, 121, 121, even}, g.pace, func(float64) bool { return true }); err != nil {
				t.Fatal(err)
			}
			last = c.min
			near(t, "centre", centreOf(s), c.want, g.tol)
		}
	}
	// From 30 min on the calculator's own cells (0.025) and steps (0.01) stay within 0.04 °C,
	// and within 0.02 °C above 100 °C, where lethality is earned (0.5 % of it).
	for _, c := range published[3:] {
		s := stepBody(t, newCylinder(0.038, 0.095, cellsAcross, 72), pint(), even, 20, 121, c.min, usualPace)
		tol := 0.04
		if c.want > 100 {
			tol = 0.02
		}
		near(t, "centre, calculator", centreOf(s), c.want, tol)
	}
}

// The scheme is of second order in the cells: half the width, a quarter of
// the error. Two grids carried on so give the series to 0.001 °C.
func TestSecondOrderInCells(t *testing.T) {
	const want = 22.1306 // 10 min, where the cells are felt most
	at := func(nr, nz int) float64 {
		return centreOf(stepBody(t, newCylinder(0.038, 0.095, nr, nz), pint(), even, 20, 121, 10, pace{0.002, 5}))
	}
	coarse, middle, fine := at(12, 24), at(24, 48), at(48, 96)
	if order := math.Log2((coarse - middle) / (middle - fine)); math.Abs(order-2) > 0.15 {
		t.Errorf("order %.2f in the cells, want 2", order)
	}
	near(t, "carried on", fine+(fine-middle)/3, want, 0.002)
}

// And of second order in the steps, with a film, a ramp and properties that
// change with temperature.
func TestSecondOrderInSteps(t *testing.T) {
	m, err := newContents(Substrate{MoisturePct: ptr(55)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	b := newCylinder(0.038, 0.095, 12, 16)
	at := func(sec float64) float64 {
		s := newConduction(b, m, 20)
		free := pace{1e9, sec}
		for _, a := range []surround{{0.5, 20, 30, even}, {39.5, 30, 121, even}} {
			if _, err := s.run(a, free, func(float64) bool { return true }); err != nil {
				t.Fatal(err)
			}
		}
		return centreOf(s)
	}
	coarse, middle, fine := at(60), at(30), at(15)
	if order := math.Log2(math.Abs((coarse - middle) / (middle - fine))); math.Abs(order-2) > 0.25 {
		t.Errorf("order %.2f in the steps (%.5f, %.5f, %.5f), want 2", order, coarse, middle, fine)
	}
}

// Published: Incropera and DeWitt, problem 5.49: a long rod of 30 mm, k 1.7,
// rho 400, c 1600, h 50, from 1000 to 350 K, surface at 500 K after 145 s (the
// book reads a table; the series gives 144.889 s).
func TestLongCylinderPublished(t *testing.T) {
	m := constantMedium(1.7, 400*1600)
	near(t, "series", 350+650*cylinderTheta(50*0.015/1.7, 1.7/(400*1600)*144.889/(0.015*0.015), 1), 500, 0.01)
	s := stepBody(t, newCylinder(0.015, 0.1, 40, 8), m, Faces{Side: 50}, 1000, 350, 144.889/60, pace{0.01, 1})
	near(t, "surface", sideOf(s, 4, 50, 350, 1.7), 500, 0.1)
}

// sideOf is the surface of the side at height cell j: half a cell and the
// film in a row.
func sideOf(s *conduction, j int, u, outside, k float64) float64 {
	a := s.body.axes[0]
	n := a.n()
	half := (a.edge[n] - a.centre[n-1]) / k
	return (s.temp(j*n+n-1)/half + u*outside) / (1/half + u)
}

// Textbook short cylinders (statements from memory, chart answers within the
// reading of a chart; exact values from the series by other hands).
func TestShortCylinderPublished(t *testing.T) {
	for _, c := range []struct {
		name                         string
		radius, height, k, c, h      float64
		start, outside, min          float64
		centre, chart, toChart, topC float64
	}{
		{"brass, Cengel 4-7", 0.05, 0.12, 110, 110 / 33.9e-6, 60, 120, 25, 15, 62.7317, 63, 0.5, 62.1226},
		{"brass, Cengel 4-118", 0.02, 0.20, 110, 110 / 3.39e-5, 40, 150, 20, 15, 58.7938, 58.8, 0.1, 58.0991},
		{"stainless, Incropera", 0.04, 0.06, 17.4, 7900 * 526, 500, 600, 300, 3, 402.746, 405, 3, 370.544},
		{"can 303x406, Singh and Heldman", 0.0405, 0.11, 0.34, 900 * 3500, 2000, 35, 100, 30, 49.6559, 48.5, 1.5, 0},
	} {
		f := Faces{c.h, c.h, c.h}
		m := constantMedium(c.k, c.c)
		steps := pace{0.01, c.min * 60 / 400}
		coarse := centreOf(stepBody(t, newCylinder(c.radius, c.height, 16, 32), m, f, c.start, c.outside, c.min, steps))
		finer := stepBody(t, newCylinder(c.radius, c.height, 32, 64), m, f, c.start, c.outside, c.min, steps)
		near(t, c.name, centreOf(finer)+(centreOf(finer)-coarse)/3, c.centre, 0.01)
		near(t, c.name+", chart", centreOf(finer), c.chart, c.toChart)
		if c.topC > 0 {
			near(t, c.name+", top", topOf(finer, c.h, c.outside, c.k), c.topC, 0.1)
		}
	}
}

// topOf is the surface of the top on the centre line.
func topOf(s *conduction, u, outside, k float64) float64 {
	z := s.body.upright()
	n := z.n()
	row := newProbe(s, 0).last()
	half := (z.edge[n] - z.centre[n-1]) / k
	return (row[n-1]/half + u*outside) / (1/half + u)
}

// Face, side and corner of the stainless cylinder: 370.544, 362.427 and
// 342.862 K from the series by other hands.
func TestStainlessSides(t *testing.T) {
	s := stepBody(t, newCylinder(0.04, 0.06, 60, 60), constantMedium(17.4, 7900*526), Faces{500, 500, 500}, 600, 300, 3, pace{0.01, 0.5})
	near(t, "face", topOf(s, 500, 300, 17.4), 370.544, 0.05)
	mid := (sideOf(s, 29, 500, 300, 17.4) + sideOf(s, 30, 500, 300, 17.4)) / 2
	near(t, "side", mid, 362.427, 0.05)
}

// A block is the product of three slabs. Sixteen cells to a side, as the
// calculator cuts, are 0.15 °C off half-way and 0.06 °C above 110 °C, where
// lethality is earned: 1.4 % of it.
func TestBlockAgainstSeries(t *testing.T) {
	const w, d, h = 0.09, 0.07, 0.08
	for _, c := range []struct{ min, tol float64 }{{40, 0.15}, {90, 0.06}} {
		fo := 1.45e-7 * c.min * 60
		theta := 1.0
		for _, l := range []float64{w / 2, d / 2, h / 2} {
			theta *= slabTheta(250*l/0.5, fo/(l*l), 0)
		}
		s := stepBody(t, newBlock(w, d, h, 16, 16, 24), pint(), even, 20, 121, c.min, usualPace)
		near(t, "centre of a block", centreOf(s), 121-101*theta, c.tol)
	}
}

// heatIn is what a body has taken up since the even temperature start, less
// the common angle.
func heatIn(s *conduction, start float64) float64 {
	sum, e := 0.0, s.medium.content(start)
	for c, v := range s.heat {
		sum += (v - e) * s.body.volume[c]
	}
	return sum
}

// What the faces let in is what the cells have taken up, to rounding, while
// the properties change with the temperature and the faces differ; and after
// an endless time it is the heat to the outside temperature.
func TestEnergyCloses(t *testing.T) {
	m, err := newContents(Substrate{MoisturePct: ptr(55)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range []*body{newCylinder(0.038, 0.095, 16, 24), newBlock(0.08, 0.1, 0.12, 6, 6, 10)} {
		s := newConduction(b, m, 20)
		for _, a := range []surround{
			{20, 20, 121, Faces{300, 15, 60}},
			{60, 121, 121, Faces{300, 15, 60}},
			{45, 121, 97, Faces{300, 15, 60}},
			{90, 22, 22, Faces{10, 5, 8}},
		} {
			if _, err := s.run(a, usualPace, func(float64) bool { return true }); err != nil {
				t.Fatal(err)
			}
			took := heatIn(s, 20)
			near(t, "heat that came in", s.absorbed, took, 1e-9*math.Abs(took))
		}
		end := stepBody(t, b, m, even, 20, 100, 3000, pace{1, 3600})
		full := (m.content(100) - m.content(20)) * b.totalVolume()
		near(t, "heat at the end", end.absorbed, full, 1e-5*full)
	}
}

// The heat through the faces is also what Fourier's law says, by a sum over
// the steps that knows nothing of the scheme.
func TestEnergyThroughFaces(t *testing.T) {
	b := newCylinder(0.038, 0.095, 16, 24)
	s := newConduction(b, pint(), 20)
	flow := func(outside float64) float64 {
		out := make([]float64, b.n)
		return s.flows(s.heat, s.drive, outside, out)
	}
	around := surround{30, 20, 121, even}
	sum, last, before := 0.0, 0.0, 0.0
	if _, err := s.run(around, pace{0.02, 3}, func(sec float64) bool {
		now := flow(around.at(sec))
		sum += (now + before) / 2 * (sec - last)
		last, before = sec, now
		return true
	}); err != nil {
		t.Fatal(err)
	}
	near(t, "sum of the flows", sum, s.absorbed, 1e-4*s.absorbed) // trapezoid over 3 s steps
}

// No cell leaves the range of start and surroundings by more than the error
// of a step, whatever the faces; symmetric faces give symmetric
// temperatures; and top and base changed over turn the picture upside down.
func TestTemperaturesStayInRange(t *testing.T) {
	b := newCylinder(0.045, 0.06, 16, 24)
	for _, f := range []Faces{even, {250, 5, 60}, {20, 5000, 2}, {10000, 10000, 10000}} {
		s := newConduction(b, pint(), 20)
		for _, a := range []surround{{0.2, 121, 121, f}, {20, 121, 121, f}, {60, 121, 30, f}} {
			if _, err := s.run(a, usualPace, func(float64) bool {
				for c := range s.heat {
					if v := s.temp(c); v < 20-0.05 || v > 121+0.05 {
						t.Fatalf("faces %+v: %.3f °C is outside 20 to 121 °C", f, v)
					}
				}
				return true
			}); err != nil {
				t.Fatal(err)
			}
		}
	}
}

func TestSymmetry(t *testing.T) {
	b := newCylinder(0.045, 0.06, 12, 20)
	s := stepBody(t, b, pint(), even, 20, 121, 30, usualPace)
	up := stepBody(t, b, pint(), Faces{250, 5, 60}, 20, 121, 30, usualPace)
	down := stepBody(t, b, pint(), Faces{250, 60, 5}, 20, 121, 30, usualPace)
	for j := range 20 {
		for i := range 12 {
			c, mirror := j*12+i, (19-j)*12+i
			near(t, "mirror", s.temp(c), s.temp(mirror), 1e-9)
			near(t, "upside down", up.temp(c), down.temp(mirror), 1e-9)
		}
	}
	square := stepBody(t, newBlock(0.08, 0.08, 0.1, 8, 8, 12), pint(), even, 20, 121, 30, usualPace)
	for k := range 12 {
		for j := range 8 {
			for i := range 8 {
				// The axes are factorised one after another, so width and depth
				// differ by the error of a step.
				near(t, "width and depth", square.temp(k*64+j*8+i), square.temp(k*64+i*8+j), 0.02)
			}
		}
	}
}

// Of all cells the coldest at the end of a heating is on the centre line:
// that is where the probe looks.
func TestColdestIsOnTheCentreLine(t *testing.T) {
	for _, f := range []Faces{even, {250, 5, 60}, {30, 300, 300}} {
		b := newCylinder(0.038, 0.05, 12, 20)
		s := stepBody(t, b, pint(), f, 20, 121, 40, usualPace)
		coldest := 0
		for c := range s.heat {
			if s.temp(c) < s.temp(coldest) {
				coldest = c
			}
		}
		if coldest%12 != 0 {
			t.Errorf("faces %+v: the coldest cell is %d from the centre line", f, coldest%12)
		}
	}
}

// A medium tabulated from constants is the constant one; heat content and
// temperature are inverse; and content is the integral of the capacity.
func TestMedium(t *testing.T) {
	k := func(float64) (float64, error) { return 0.5, nil }
	c := func(float64) (float64, error) { return 3e6, nil }
	m, err := newMedium(k, c)
	if err != nil {
		t.Fatal(err)
	}
	cake, err := newContents(Substrate{MoisturePct: ptr(55)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	one := func(m *medium, temp float64) (float64, float64, float64) {
		e := m.content(temp)
		i, _ := m.place(e)
		out, cond := m.read(e)
		return out, cond, m.capacity[i]
	}
	for temp := 0.0; temp <= 150; temp += 7.3 {
		got, cond, capacity := one(m, temp)
		near(t, "temperature", got, temp, 1e-9)
		near(t, "conductivity", cond, 0.5, 1e-12)
		near(t, "capacity", capacity, 3e6, 1e-3)
		got, cond, capacity = one(cake, temp)
		p := propertiesAt(t, WetGrain(0.55), temp)
		near(t, "temperature of a cake", got, temp, 1e-9)
		near(t, "conductivity of a cake", cond, p.Mean(), 1e-5)
		near(t, "capacity of a cake", capacity, propertiesAt(t, WetGrain(0.55), 20).Density*p.Heat, 200) // 6e-5 of it: the slope over a quarter of a kelvin
	}
	near(t, "content", m.content(121)-m.content(20), 3e6*101, 1)
}

func BenchmarkCook(b *testing.B) {
	in := usualCook()
	for range b.N {
		if _, err := Cook(in); err != nil {
			b.Fatal(err)
		}
	}
}
