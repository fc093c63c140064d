"""Times the tests behind a verdict against R and SciPy, and sets the answers side by side.

    /usr/bin/python3 bench/trials/against.py

Run it from the top of the repository. It needs Go, Rscript with boot (and exactRankTests
for the exact test), NumPy and SciPy. The data are the invented set of 30 and 30 jars.
"""
import csv
import re
import subprocess
import time

import numpy as np
from scipy import stats

DATA = "internal/calc/stats/testdata/data/trialL_2x30.csv"
TASKS = {"exact": "exact permutation, 2 x 30", "draws": "permutation, 1e6 draws", "bootstrap": "bootstrap BCa, 1e5 draws"}
GO = {"BenchmarkPermutationTwoByThirty": "exact", "BenchmarkPermutationDrawsMillion": "draws", "BenchmarkBootstrap": "bootstrap"}


def go_side():
    """Seconds and answers of our own benchmarks."""
    out = subprocess.run(
        ["go", "test", "./internal/calc/stats", "-run", "^$", "-bench", "PermutationTwoByThirty|PermutationDrawsMillion|BenchmarkBootstrap"],
        check=True, capture_output=True, text=True).stdout
    found = {}
    for line in out.splitlines():
        name = re.match(r"(Benchmark\w+?)(-\d+)?\s", line)
        if name and name[1] in GO:
            words = line.split()
            values = {unit: float(v) for v, unit in zip(words[2::2], words[3::2])}
            answer = [values[k] for k in ("p", "low", "high") if k in values]
            found[GO[name[1]]] = (values["ns/op"] / 1e9, answer)
    return found


def r_side():
    """Seconds and answers of R, none where a package is missing."""
    out = subprocess.run(["Rscript", "bench/trials/against.R"], check=True, capture_output=True, text=True).stdout
    found = {}
    for line in out.splitlines():
        name, *numbers = line.split()
        if name in TASKS:
            found[name] = (float(numbers[0]), [float(x) for x in numbers[1:]])
    return found


def timed(task):
    start = time.perf_counter()
    answer = task()
    return time.perf_counter() - start, answer


def python_side():
    """Seconds and answers of NumPy and SciPy; SciPy has no exact test of this size."""
    with open(DATA, encoding="utf-8") as f:
        z = np.array([float(r["yield_g"]) for r in csv.DictReader(f)])
    a, b = z[:30], z[30:]
    rng = np.random.default_rng(1)

    def draws():
        gap, hits, total = b.mean() - a.mean(), 0, z.sum()
        for _ in range(100):
            first = np.argpartition(rng.random((10_000, 60)), 30, axis=1)[:, :30]
            sums = z[first].sum(axis=1)
            hits += (np.abs((total - sums) / 30 - sums / 30) >= abs(gap) - 1e-9).sum()
        return [hits / 1_000_000]

    def bootstrap():
        # scipy.stats.bootstrap 1.10 has BCa for one sample only: two samples by hand.
        gap = b.mean() - a.mean()
        draw = lambda x: x[rng.integers(0, 30, (100_000, 30))].mean(axis=1)
        means = np.sort(draw(b) - draw(a))
        bias = stats.norm.ppf((means < gap).mean())
        influence = np.concatenate([-(a - a.mean()), b - b.mean()]) / 30
        skew = (influence**3).sum() / (6 * (influence**2).sum() ** 1.5)
        at = [stats.norm.cdf(bias + (bias + q) / (1 - skew * (bias + q))) for q in stats.norm.ppf([0.025, 0.975])]
        return list(np.quantile(means, at))

    return {"draws": timed(draws), "bootstrap": timed(bootstrap)}


def show(side, task, ours):
    if task not in side:
        return "no such test"
    seconds, answer = side[task]
    return f"{seconds:.4f} s, {seconds / ours:.0f} x, {', '.join(f'{x:.6g}' for x in answer)}"


def main():
    go, r, py = go_side(), r_side(), python_side()
    print("| task | Pinset | R: time, times ours, answer | NumPy and SciPy: time, times ours, answer |")
    print("|--|--|--|--|")
    for key, words in TASKS.items():
        seconds, answer = go[key]
        print(f"| {words} | {seconds:.4f} s, {', '.join(f'{x:.6g}' for x in answer)} | {show(r, key, seconds)} | {show(py, key, seconds)} |")
    if "exact" in r:
        off = abs(go["exact"][1][0] - r["exact"][1][0])
        print(f"\nExact p differ by {off:.1e}, of which 5e-6 is the rounding of `go test -bench`.")


if __name__ == "__main__":
    main()
