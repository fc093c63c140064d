"""The cook model solved by SciPy, to check and to time the Go code against.

The same cells as internal/calc/thermal cuts, the same properties, written
again from the equations: finite volumes in radius and height, Choi and Okos
for wet grain at 55 % water, and scipy.integrate.solve_ivp instead of our
steps.

    /usr/bin/python3 bench/thermal/method_of_lines.py fixture > internal/calc/thermal/testdata/method_of_lines.json
    /usr/bin/python3 bench/thermal/method_of_lines.py reference > internal/calc/thermal/testdata/four_hours.json
    export OPENBLAS_NUM_THREADS=1
    go test -run XXX -bench FourHours -count 3 ./internal/calc/thermal |
        /usr/bin/python3 bench/thermal/method_of_lines.py compare bench/thermal/equal_error.svg

fixture prints the core at even times for a small grid at tight tolerances,
reference four lines of cells of a large one; the Go tests read both. compare
steps the large one with BDF, Radau and LSODA at several tolerances, each told
the sparsity or the bands of the Jacobian, and prints seconds of processor
time and error beside those of the Go benchmark. Nothing of this runs in the
tests of the project.
"""

import json
import sys
import time

import numpy as np
import scipy
from numpy.polynomial import Polynomial
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


class Medium:
    """Temperature, conductivity and drive over the heat content.

    The drive is the integral of the conductivity over the temperature. All
    three are polynomials in the heat content, good to 1e-9 of their range.
    """

    def __init__(self, degree=7):
        t = np.linspace(0, 150, 6001)
        k, c = properties(t)
        step = np.diff(t)
        heat = np.concatenate([[0], np.cumsum((c[1:] + c[:-1]) / 2 * step)])
        drive = np.concatenate([[0], np.cumsum((k[1:] + k[:-1]) / 2 * step)])
        self.capacity = heat[-1] / 150
        x = heat / self.capacity  # about as many as kelvin, so that tolerances are kelvin
        fit = lambda y: Polynomial.fit(x, y, degree).convert().coef[::-1]
        self.temp, self.conduct, self.drive = fit(t), fit(k), fit(drive)
        self.content = Polynomial.fit(t, x, degree).convert().coef[::-1]


class Jar:
    """A cylinder of nr x nz cells, finer towards the outer faces."""

    def __init__(self, radius, height, nr, nz, faces, chamber, grading=0.3):
        s, z = np.linspace(0, 1, nr + 1), np.linspace(0, 1, nz + 1)
        self.r = radius * s * (1 + grading * (1 - s))
        self.z = height * (z - grading * np.sin(2 * np.pi * z) / (2 * np.pi))
        self.rc, self.zc = (self.r[1:] + self.r[:-1]) / 2, (self.z[1:] + self.z[:-1]) / 2
        self.shape, self.faces, self.chamber = (nz, nr), faces, chamber
        self.medium = Medium()
        ring, dz = (self.r[1:] ** 2 - self.r[:-1] ** 2) / 2, np.diff(self.z)
        c = self.medium.capacity
        self.per_ring, self.per_dz = 1 / (ring * c), (1 / (dz * c))[:, None]
        self.across, self.along = self.r[1:-1] / np.diff(self.rc), (1 / np.diff(self.zc))[:, None]
        self.side, self.side_half = self.r[-1] * self.per_ring[-1], self.r[-1] - self.rc[-1]
        self.top_half, self.base_half = self.z[-1] - self.zc[-1], self.zc[0] - self.z[0]

    def rate(self, sec, y):
        x = y.reshape(self.shape)
        drive = np.polyval(self.medium.drive, x)
        side, top, base = self.faces(sec)
        outside = self.chamber(sec)
        w, lengthwise = np.zeros(self.shape), np.zeros(self.shape)

        q = self.across * (drive[:, 1:] - drive[:, :-1])
        w[:, :-1] += q
        w[:, 1:] -= q
        w *= self.per_ring
        q = self.along * (drive[1:] - drive[:-1])
        lengthwise[:-1] += q
        lengthwise[1:] -= q
        w += lengthwise * self.per_dz

        w[:, -1] += self.side * self.inflow(x[:, -1], self.side_half, side, outside)
        w[-1] += self.per_dz[-1] * self.inflow(x[-1], self.top_half, top, outside)
        w[0] += self.per_dz[0] * self.inflow(x[0], self.base_half, base, outside)
        return w.ravel()

    def inflow(self, x, half, u, outside):
        t, k = np.polyval(self.medium.temp, x), np.polyval(self.medium.conduct, x)
        return (outside - t) / (half / k + 1 / u)

    def sparsity(self):
        nz, nr = self.shape
        n = nz * nr
        return diags([np.ones(n)] * 5, [0, -1, 1, -nr, nr], shape=(n, n))

    def solve(self, stretches, start, rtol, atol, at, method="BDF", read=None):
        """Steps through stretches of seconds and reads the state at times."""
        read = read or self.centre
        told = {"lband": self.shape[1], "uband": self.shape[1]} if method == "LSODA" else {"jac_sparsity": self.sparsity()}
        y = np.full(self.shape[0] * self.shape[1], np.polyval(self.medium.content, start))
        out, clock = [], 0.0
        for sec in stretches:
            want = [t for t in at if clock < t <= clock + sec + 1e-9]
            s = solve_ivp(
                self.rate, (clock, clock + sec), y, method=method, rtol=rtol, atol=atol,
                t_eval=sorted(set(want + [clock + sec])), **told,
            )
            if not s.success:
                raise RuntimeError(s.message)
            for i, t in enumerate(s.t):
                if t in want:
                    out.append(read(s.y[:, i]))
            y, clock = s.y[:, -1], clock + sec
        return out

    def temps(self, y):
        return np.polyval(self.medium.temp, y).reshape(self.shape)

    def centre(self, y):
        """The centre line, an even parabola through the two cells beside it."""
        t = self.temps(y)
        a, b = self.rc[0] ** 2, self.rc[1] ** 2
        return (t[:, 0] + (t[:, 0] - t[:, 1]) * a / (b - a)).tolist()

    def lines(self, y):
        """The innermost and the outermost column, and the lowest and the highest row."""
        t = self.temps(y)
        return [t[:, 0].tolist(), t[:, -1].tolist(), t[0].tolist(), t[-1].tolist()]


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


HOURS = dict(radius=0.038, height=0.095, nr=40, nz=60)
MARKS = [60.0 * m for m in (20, 30, 60, 90, 110, 120, 155, 180, 210, 240)]


def four_hours(tol, atol, method="BDF"):
    """40 x 60 cells through four hours: seconds of processor time, and the lines at the marks."""
    jar = Jar(faces=faces((250.0, 250.0, 250.0)), chamber=chamber, **HOURS)
    began = time.process_time()
    got = jar.solve([COME_UP, HOLD, COOL, AIR], 20, tol, atol, MARKS, method, jar.lines)
    return time.process_time() - began, got


def reference():
    _, lines = four_hours(1e-10, 1e-9)
    rows = [[[round(v, 6) for v in line] for line in mark] for mark in lines]
    print(
        json.dumps(
            {
                "source": "bench/thermal/method_of_lines.py, solve_ivp BDF, rtol 1e-10, atol 1e-9 K, SciPy " + scipy.__version__,
                "radius_m": HOURS["radius"], "height_m": HOURS["height"], "nr": HOURS["nr"], "nz": HOURS["nz"],
                "minutes": [m / 60 for m in MARKS], "lines_c": rows,
            }
        )
    )


def off(lines, exact):
    return max(np.abs(np.array(a) - np.array(b)).max() for m, n in zip(lines, exact) for a, b in zip(m, n))


def scipy_table():
    """(name, seconds, error) by method and tolerance, the best of three runs each."""
    _, exact = four_hours(1e-10, 1e-9)
    rows = []
    for method, tols in (("BDF", (1e-2, 1e-3, 1e-4, 1e-5, 1e-6)), ("Radau", (1e-2, 1e-3, 1e-4)), ("LSODA", (1e-3, 1e-4, 1e-5))):
        for tol in tols:
            for times in (1, 100):
                runs = [four_hours(tol, times * tol, method) for _ in range(3)]
                rows.append((f"{method}, rtol {tol:g}, atol {times * tol:g} K", min(r[0] for r in runs), off(runs[0][1], exact)))
    return rows


def go_table(text):
    """(name, seconds, error) from the lines that the Go benchmark prints."""
    rows = {}
    for line in text:
        part = line.split()
        if line.startswith("BenchmarkFourHours/") and "mK" in part:
            name, sec, err = part[0].split("/")[1], float(part[part.index("cpu-ms") - 1]) / 1e3, float(part[part.index("mK") - 1]) / 1e3
            rows[name] = (name, min(sec, rows.get(name, (name, sec, err))[1]), err)
    return list(rows.values())


def lowest(rows):
    """The runs that no other beats in both time and error, by falling error."""
    out = []
    for row in sorted(rows, key=lambda r: r[1]):
        if not out or row[2] < out[-1][2]:
            out.append(row)
    return out


def seconds_for(rows, error):
    """Seconds at an error, by straight lines between logarithms; None outside."""
    front = lowest(rows)
    err, sec = [np.log(r[2]) for r in front][::-1], [np.log(r[1]) for r in front][::-1]
    return float(np.exp(np.interp(np.log(error), err, sec))) if err[0] <= np.log(error) <= err[-1] else None


def picture(groups, name):
    """Error against time on logarithmic axes, as SVG."""
    x = lambda sec: 60 + 150 * (np.log10(sec) + 3)
    y = lambda err: 30 + 80 * (0 - np.log10(err))
    out = ['<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 540 400" font-family="sans-serif" font-size="12">']
    for p in range(-3, 1):
        out.append(f'<path d="M{x(10.0**p):.0f} 30V350" stroke="#ccc"/><text x="{x(10.0**p):.0f}" y="366" text-anchor="middle">{10.0**p:g} s</text>')
    for p in range(-4, 1):
        out.append(f'<path d="M60 {y(10.0**p):.0f}H510" stroke="#ccc"/><text x="55" y="{y(10.0**p) + 4:.0f}" text-anchor="end">{10.0**p:g} K</text>')
    for (label, rows), colour in zip(groups, ("#000", "#06c", "#c60", "#393")):
        line = sorted(rows, key=lambda r: r[1])
        out.append(f'<path fill="none" stroke="{colour}" d="M' + "L".join(f"{x(r[1]):.1f} {y(r[2]):.1f}" for r in lowest(rows)) + '"/>')
        out += [f'<circle cx="{x(r[1]):.1f}" cy="{y(r[2]):.1f}" r="3" fill="{colour}"/>' for r in line]
        out.append(f'<text x="{x(line[0][1]):.1f}" y="{y(line[0][2]) - 10:.1f}" fill="{colour}">{label}</text>')
    out.append('<text x="285" y="388" text-anchor="middle">processor time of four hours, 40 x 60 cells</text></svg>')
    with open(name, "w") as f:
        f.write("\n".join(out) + "\n")


def compare():
    go, sci = go_table(sys.stdin), scipy_table()
    for name, sec, err in sci + go:
        print(f"{name:34s} {1000 * sec:8.2f} ms   off by {err:.4f} K at most")
    for error in (0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001):
        a, b = seconds_for(sci, error), seconds_for(go, error)
        if a and b:
            print(f"at {error:g} K: SciPy {1000 * a:.0f} ms, Go {1000 * b:.2f} ms, ratio {a / b:.0f}")
    if len(sys.argv) > 2:
        by = lambda method: [r for r in sci if r[0].startswith(method)]
        picture([("Go", go), ("BDF", by("BDF")), ("Radau", by("Radau")), ("LSODA", by("LSODA"))], sys.argv[2])


if __name__ == "__main__":
    {"fixture": fixture, "reference": reference, "compare": compare}[sys.argv[1]]()
