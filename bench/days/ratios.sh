#!/bin/sh
# Times our fits and R's on the same data, one after the other, and prints how
# many times as fast ours are. Wants Rscript with the packages survival and
# lme4. Not run in CI.
#
#     sh bench/days/ratios.sh
set -eu
cd "$(dirname "$0")/../.."

# ours prints the least of five times of a benchmark, in ms.
ours() {
	go test "./internal/calc/$1" -run '^$' -bench "^Benchmark$2\$" -benchtime 20x -count 5 |
		awk '/^Benchmark/ { if (least == "" || $3 < least) least = $3 } END { printf "%.4f", least / 1e6 }'
}

# theirs prints the time that an R script says, in ms.
theirs() { Rscript "bench/days/$1" | awk '/ms a fit/ { print $1 }'; }

compare() {
	awk -v name="$1" -v ours="$2" -v theirs="$3" 'BEGIN { printf "%-44s ours %8.3f ms   R %8.3f ms   %.1f times as fast\n", name, ours, theirs, theirs / ours }'
}

compare "Weibull, interval-censored, n 1000 (survreg)" "$(ours survive FitAFT1000)" "$(theirs survreg.R)"
compare "REML, n 5000, 200 blocks (lme4)" "$(ours mixed REML5000)" "$(theirs reml.R)"
