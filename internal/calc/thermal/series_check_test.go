package thermal

import (
	"math"
	"testing"
)

// The first roots and coefficients of slab and long cylinder over the number
// of Biot, computed by other hands to six digits; textbook tables (Incropera
// and DeWitt, table 5.1) print four of them.
func TestFirstTerms(t *testing.T) {
	for _, c := range []struct{ bi, slab, slabC, cylinder, cylinderC float64 }{
		{0.01, 0.099834, 1.001661, 0.141245, 1.002496},
		{0.05, 0.221760, 1.008189, 0.314262, 1.012395},
		{0.1, 0.311053, 1.016094, 0.441682, 1.024579},
		{0.2, 0.432841, 1.031088, 0.616975, 1.048304},
		{0.5, 0.653271, 1.070128, 0.940771, 1.114255},
		{1, 0.860334, 1.119132, 1.255784, 1.207092},
		{2, 1.076874, 1.178456, 1.599449, 1.338377},
		{3, 1.192459, 1.210226, 1.788657, 1.419095},
		{4, 1.264592, 1.228708, 1.908079, 1.469796},
		{5, 1.313838, 1.240249, 1.989815, 1.502869},
		{10, 1.428870, 1.261963, 2.179497, 1.567692},
		{20, 1.496129, 1.269916, 2.288048, 1.591944},
		{30, 1.520167, 1.271678, 2.326143, 1.597288},
		{50, 1.540006, 1.272652, 2.357242, 1.600221},
		{100, 1.555245, 1.273088, 2.380902, 1.601524},
	} {
		z := slabRoots(c.bi, 1)[0]
		near(t, "slab root", z, c.slab, 1e-6)
		near(t, "slab coefficient", 4*math.Sin(z)/(2*z+math.Sin(2*z)), c.slabC, 1e-6)
		z = cylinderRoots(c.bi, 1)[0]
		j0, j1 := math.J0(z), math.J1(z)
		near(t, "cylinder root", z, c.cylinder, 1e-6)
		near(t, "cylinder coefficient", 2*j1/(z*(j0*j0+j1*j1)), c.cylinderC, 1e-6)
	}
}

// The centre of slab and cylinder whose surface takes the outside temperature
// at once, computed by other hands. At a number of Biot of 1e7 the roots are
// those of the endless one to 1e-7 of themselves.
func TestCentreWithoutFilm(t *testing.T) {
	for _, c := range []struct{ fo, slab, cylinder float64 }{
		{0.05, 0.99686920, 0.98709922},
		{0.1, 0.94930536, 0.84835511},
		{0.2, 0.77231161, 0.50148686},
		{0.3, 0.60680382, 0.28248707},
		{0.5, 0.37077743, 0.08888972},
		{1.0, 0.10797704, 0.00493230},
	} {
		near(t, "slab", slabTheta(1e7, c.fo, 0), c.slab, 1e-6)
		near(t, "cylinder", cylinderTheta(1e7, c.fo, 0), c.cylinder, 1e-6)
	}
}

// jarSeries is the temperature at a height and a radius of a short cylinder,
// given as shares of the half height and of the radius.
func jarSeries(radius, height, k, c, h, start, outside, sec, atZ, atR float64) float64 {
	l, a := height/2, k/c
	return outside + (start-outside)*slabTheta(h*l/k, a*sec/(l*l), atZ)*cylinderTheta(h*radius/k, a*sec/(radius*radius), atR)
}

// The series of short cylinders at more places, computed by other hands to
// the digits printed: the stainless cylinder of Incropera at centre, face,
// side and corner, the can of Singh and Heldman after half an hour and an
// hour, and a long steel bar of a university course at centre and surface.
func TestShortCylinderSeries(t *testing.T) {
	for _, c := range []struct{ z, r, want float64 }{{0, 0, 402.746}, {1, 0, 370.544}, {0, 1, 362.427}, {1, 1, 342.862}} {
		near(t, "stainless", jarSeries(0.04, 0.06, 17.4, 7900*526, 500, 600, 300, 180, c.z, c.r), c.want, 0.001)
	}
	for _, c := range []struct{ sec, want float64 }{{1800, 49.6559}, {3600, 75.8455}} {
		near(t, "can", jarSeries(0.0405, 0.11, 0.34, 900*3500, 2000, 35, 100, c.sec, 0, 0), c.want, 0.0001)
	}
	for _, c := range []struct{ r, want float64 }{{0, 184.836}, {1, 156.612}} {
		got := 50 + 350*cylinderTheta(200*0.1/40, 1e-5*1200/(0.1*0.1), c.r)
		near(t, "steel bar", got, c.want, 0.001)
	}
	s := stepBody(t, newCylinder(0.1, 0.3, 40, 8), constantMedium(40, 40/1e-5), Faces{Side: 200}, 400, 50, 20, pace{0.01, 10})
	near(t, "steel bar, cells", centreOf(s), 184.836, 0.05)
	near(t, "steel bar, surface", sideOf(s, 4, 200, 50, 40), 156.612, 0.05)
}

// The corner is where both axes meet, so that a fault in either is seen: the
// stainless cylinder, carried on from two grids.
func TestStainlessCorner(t *testing.T) {
	corner := func(n int) float64 {
		s := stepBody(t, newCylinder(0.04, 0.06, n, 2*n), constantMedium(17.4, 7900*526), Faces{500, 500, 500}, 600, 300, 3, pace{0.01, 0.5})
		a, z := s.body.axes[0], s.body.upright()
		last := s.body.n - 1
		// By straight lines from the last two cells of each axis.
		out := (a.edge[n] - a.centre[n-1]) / (a.centre[n-1] - a.centre[n-2])
		up := (z.edge[2*n] - z.centre[2*n-1]) / (z.centre[2*n-1] - z.centre[2*n-2])
		return s.temp(last) + out*(s.temp(last)-s.temp(last-1)) + up*(s.temp(last)-s.temp(last-n))
	}
	coarse, fine := corner(20), corner(40)
	near(t, "corner", fine+(fine-coarse)/3, 342.862, 0.1)
}
