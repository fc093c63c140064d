"""The cook model solved by SciPy, to check and to time the Go code against.

The same cells as internal/calc/thermal cuts, the same properties, written
again from the equations: finite volumes in radius and height, Choi and Okos
for wet grain at 55 % water, and scipy.integrate.solve_ivp (BDF with the
sparsity of the Jacobian) instead of our steps.

    /usr/bin/python3 bench/thermal/method_of_lines.py fixture > internal/calc/thermal/testdata/method_of_lines.json
    /usr/bin/python3 bench/thermal/method_of_lines.py time
    go test -run XXX -bench FourHours ./internal/calc/thermal

fixture prints the core at even times for a small grid at tight tolerances;
the Go test reads it. time prints the seconds of processor and the error of solve_ivp for
40 x 60 cells and four hours by tolerance; compare with the Go benchmark.
Nothing of this runs in the tests of the project.
"""

import json
import sys
import time

import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.sparse import diags

# Wet grain: mass fractions of water, protein, fat, carbohydrate, fibre, ash.
X = np.array([0.55, 0.04, 0.015, 0.375, 0.015, 0.005])
DENSITY = np.array(
    [
        [997.18, 3.1439e-3, -3.7574e-3],
        [1329.9, -0.51840, 0],
        [925.59, -0.41757, 0],
        [1599.1, -0.31046, 0],
        [1311.5, -0.36589, 0],
        [2423.8, -0.28063, 0],
    ]
)
HEAT = np.array(
    [
        [4.1762, -9.0864e-5, 5.4731e-6],
        [2.0082, 1.2089e-3, -1.3129e-6],
        [1.9842, 1.4733e-3, -4.8008e-6],
        [1.5488, 1.9625e-3, -5.9399e-6],
        [1.8459, 1.8306e-3, -4.6509e-6],
        [1.0926, 1.8896e-3, -3.6817e-6],
    ]
)
CONDUCTIVITY = np.array(
    [
        [0.57109, 1.7625e-3, -6.7036e-6],
        [0.17881, 1.1958e-3, -2.7178e-6],
        [0.18071, -2.7604e-4, -1.7749e-7],
        [0.20141, 1.3874e-3, -4.3312e-6],
        [0.18331, 1.2497e-3, -3.1683e-6],
        [0.32962, 1.4011e-3, -2.9069e-6],
    ]
)


def poly(table, t):
    return table[:, 0, None] + table[:, 1, None] * t + table[:, 2, None] * t * t


def density(t):
    return 1 / np.sum(X[:, None] / poly(DENSITY, np.atleast_1d(t)), axis=0)


def properties(t):
    """Conductivity midway between the bounds, and heat capacity by volume."""
    volume = X[:, None] / poly(DENSITY, t)
    share = volume / volume.sum(axis=0)
    k = poly(CONDUCTIVITY, t)
    mean = ((share * k).sum(axis=0) + 1 / (share / k).sum(axis=0)) / 2
    return mean, density(20.0)[0] * 1000 * (X[:, None] * poly(HEAT, t)).sum(axis=0)


def at_face(below, above, k_below, k_above):
    """Conductivity at a face by a straight line, over the distance of the centres."""
    return (above * k_below + below * k_above) / (below + above) ** 2


class Jar:
    """A cylinder of nr x nz cells, finer towards the outer faces."""

    def __init__(self, radius, height, nr, nz, faces, chamber, grading=0.3):
        s, z = np.linspace(0, 1, nr + 1), np.linspace(0, 1, nz + 1)
        self.r = radius * s * (1 + grading * (1 - s))
        self.z = height * (z - grading * np.sin(2 * np.pi * z) / (2 * np.pi))
        self.rc, self.zc = (self.r[1:] + self.r[:-1]) / 2, (self.z[1:] + self.z[:-1]) / 2
        self.ring = (self.r[1:] ** 2 - self.r[:-1] ** 2) / 2
        self.dz = np.diff(self.z)
        self.volume = self.dz[:, None] * self.ring[None, :]
        self.shape, self.faces, self.chamber = (nz, nr), faces, chamber

    def rate(self, sec, y):
        t = y.reshape(self.shape)
        k, c = properties(y)
        k, c = k.reshape(self.shape), c.reshape(self.shape)
        side, top, base = self.faces(sec)
        outside = self.chamber(sec)
        w = np.zeros(self.shape)

        half_out, half_in = self.r[1:] - self.rc, self.rc - self.r[:-1]
        g = self.r[1:-1] * at_face(half_out[:-1], half_in[1:], k[:, :-1], k[:, 1:]) * self.dz[:, None]
        q = g * (t[:, 1:] - t[:, :-1])
        w[:, :-1] += q
        w[:, 1:] -= q
        w[:, -1] += self.r[-1] * self.dz / (half_out[-1] / k[:, -1] + 1 / side) * (outside - t[:, -1])

        up, down = self.z[1:] - self.zc, self.zc - self.z[:-1]
        g = self.ring * at_face(up[:-1, None], down[1:, None], k[:-1], k[1:])
        q = g * (t[1:] - t[:-1])
        w[:-1] += q
        w[1:] -= q
        w[-1] += self.ring / (up[-1] / k[-1] + 1 / top) * (outside - t[-1])
        w[0] += self.ring / (down[0] / k[0] + 1 / base) * (outside - t[0])
        return (w / (c * self.volume)).ravel()

    def sparsity(self):
        nz, nr = self.shape
        n = nz * nr
        return diags([np.ones(n)] * 5, [0, -1, 1, -nr, nr], shape=(n, n))

    def solve(self, stretches, start, rtol, atol, at):
        """Steps through stretches of seconds and returns the centre at times."""
        y, out, clock = np.full(self.shape[0] * self.shape[1], float(start)), [], 0.0
        for sec in stretches:
            want = [t for t in at if clock < t <= clock + sec + 1e-9]
            s = solve_ivp(
                self.rate, (clock, clock + sec), y, method="BDF", rtol=rtol, atol=atol,
                jac_sparsity=self.sparsity(), t_eval=sorted(set(want + [clock + sec])),
            )
            if not s.success:
                raise RuntimeError(s.message)
            for i, t in enumerate(s.t):
                if t in want:
                    out.append(self.centre(s.y[:, i]))
            y, clock = s.y[:, -1], clock + sec
        return out

    def centre(self, y):
        """The centre line, an even parabola through the two cells beside it."""
        t = y.reshape(self.shape)
        a, b = self.rc[0] ** 2, self.rc[1] ** 2
        return (t[:, 0] + (t[:, 0] - t[:, 1]) * a / (b - a)).tolist()


COME_UP, HOLD, COOL, AIR = 20 * 60, 90 * 60, 45 * 60, 85 * 60


def chamber(sec):
    """20 to 121 °C, hold, 97 °C at the opening, a room of 22 °C."""
    if sec <= COME_UP:
        return 20 + 101 * sec / COME_UP
    if sec <= COME_UP + HOLD:
        return 121.0
    if sec <= COME_UP + HOLD + COOL:
        return 121 - 24 * (sec - COME_UP - HOLD) / COOL
    return 22.0


def faces(steam):
    return lambda sec: steam if sec <= COME_UP + HOLD + COOL else (10.0, 10.0, 10.0)


def fixture():
    jar = Jar(0.038, 0.06, 10, 16, faces((300.0, 15.0, 60.0)), chamber)
    minutes = [20, 40, 60, 80, 110, 130, 155]
    lines = jar.solve([COME_UP, HOLD, COOL], 20, 1e-9, 1e-9, [60 * m for m in minutes])
    print(
        json.dumps(
            {
                "source": "bench/thermal/method_of_lines.py, solve_ivp BDF, rtol and atol 1e-9, SciPy " + scipy.__version__,
                "radius_m": 0.038, "height_m": 0.06, "nr": 10, "nz": 16,
                "side": 300, "top": 15, "base": 60,
                "minutes": minutes, "centre_line_c": lines,
            }
        )
    )


def timing():
    jar = Jar(0.038, 0.095, 40, 60, faces((250.0, 250.0, 250.0)), chamber)
    stretches, at = [COME_UP, HOLD, COOL, AIR], [60.0 * m for m in range(30, 241, 30)]
    exact = np.array(jar.solve(stretches, 20, 1e-8, 1e-8, at))
    for tol in (1e-2, 1e-3, 1e-4, 1e-5):
        began = time.process_time()
        got = np.array(jar.solve(stretches, 20, tol, tol * 100, at))
        took = time.process_time() - began
        print(f"rtol {tol:g}: {took:.3f} s, centre line off by {np.abs(got - exact).max():.2g} K at most")


if __name__ == "__main__":
    {"fixture": fixture, "time": timing}[sys.argv[1]]()
