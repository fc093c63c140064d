package thermal

import (
	"fmt"
	"testing"
)

// heatedCake is one load of cakeTable at the end of its come-up, with the
// films of air on the bench that the cooling of the table has.
func heatedCake(t *testing.T, bore, fill, chamber, film float64) (*heating, process) {
	t.Helper()
	air := Faces{film, film, film}
	v := vessel{body: cut(Container{BoreMM: bore, FillMM: fill}), medium: pint(), steam: even, air: air}
	p := process{start: 20, chamber: chamber, comeUp: 20, room: 22, cool: 45, coolEnd: 97}
	h := newHeating(v, p)
	if err := h.comeUp(p); err != nil {
		t.Fatal(err)
	}
	return h, p
}

// The core when the pot has come up, and the minute from the start of the
// heating at which it passes 100 °C; by other hands, printed to 0.1 °C and to
// the minute.
func TestCakeTableComeUp(t *testing.T) {
	for _, c := range []struct{ bore, fill, chamber, core, boiling float64 }{
		{66, 55, 120.95, 36.0, 46},
		{66, 55, 115.20, 35.1, 0},
		{76, 95, 120.95, 25.2, 67},
		{76, 95, 115.20, 24.9, 0},
		{90, 140, 120.95, 21.7, 95},
		{90, 140, 115.20, 21.6, 0},
		{108, 190, 120.95, 20.4, 133},
	} {
		t.Run(fmt.Sprintf("%gx%g at %g", c.bore, c.fill, c.chamber), func(t *testing.T) {
			h, p := heatedCake(t, c.bore, c.fill, c.chamber, 10)
			near(t, "core at the end of the come-up", centreOf(h.state), c.core, 0.1)
			if c.boiling == 0 {
				return
			}
			if err := h.hold(p, 150, nil); err != nil {
				t.Fatal(err)
			}
			temps := h.probe.course(h.probe.coldest())
			near(t, "minute at 100 °C", readAt(temps, h.probe.minute, 100), c.boiling, 1)
		})
	}
}

// Hours in air of 22 °C until all of the core is below 60, 40, 30 and 25 °C,
// after 90 min at 120.95 °C and 45 min of cooling to 97 °C in the closed pot,
// with 12 and with 8 W/m2K; by other hands, printed to 0.1 h.
func TestCakeTableHoursInAir(t *testing.T) {
	for _, c := range []struct {
		bore, fill float64
		soon, late [4]float64
	}{
		{66, 55, [4]float64{1.0, 1.8, 2.6, 3.5}, [4]float64{1.3, 2.4, 3.5, 4.9}},
		{76, 95, [4]float64{1.5, 2.6, 3.7, 5.1}, [4]float64{1.9, 3.4, 5.0, 6.8}},
		{90, 140, [4]float64{2.1, 3.5, 5.0, 6.8}, [4]float64{2.7, 4.6, 6.6, 9.1}},
		{108, 190, [4]float64{2.8, 4.6, 6.6, 9.0}, [4]float64{3.5, 6.0, 8.6, 11.8}},
	} {
		for film, want := range map[float64][4]float64{12: c.soon, 8: c.late} {
			h, p := heatedCake(t, c.bore, c.fill, 120.95, film)
			if err := h.hold(p, 90, nil); err != nil {
				t.Fatal(err)
			}
			if err := h.coolInPot(p); err != nil {
				t.Fatal(err)
			}
			opened := h.minute
			for i, target := range []float64{60, 40, 30, 25} {
				minutes, ok, err := h.branch().coolInAir(p, target)
				if err != nil || !ok {
					t.Fatal(ok, err)
				}
				near(t, fmt.Sprintf("%gx%g, %g W/m2K, hours to %g °C", c.bore, c.fill, film, target), minutes/60, want[i], 0.06)
			}
			if h.minute != opened {
				t.Error("a branch moved the trunk")
			}
		}
	}
}

// F0 of the centre of the pint that is put into 121.0 °C at once, from the
// series of 30 x 30 terms by other hands. The calculator's cells are 0.02 °C
// low or less, 0.5 % of a lethality and less as the curve flattens, and its
// straight lines over 3 min cost another 0.2 %.
func TestStepF0AgainstSeries(t *testing.T) {
	v := vessel{body: cut(Container{BoreMM: 76, FillMM: 95}), medium: pint(), steam: even}
	p := process{start: 20, chamber: 121}
	h := newHeating(v, p)
	for _, c := range []struct{ minutes, want, share float64 }{{60, 0.0725, 0.008}, {30, 3.4753, 0.004}, {30, 17.9388, 0.002}} {
		if err := h.hold(p, c.minutes, nil); err != nil {
			t.Fatal(err)
		}
		q := h.probe.coldest()
		near(t, "cold spot", q.z, 0.0475, 0.0005)
		f := h.probe.lethality(h.probe.course(q))
		near(t, "F0", f[len(f)-1], c.want, c.share*c.want)
	}
}
