#!/usr/bin/env bash
# Fuzzes every Fuzz function for a short while.
#
#   test/fuzz.sh            3 seconds each
#   test/fuzz.sh 10m        longer, before a release
#
# Packages that link a database are left out: to instrument it takes minutes
# and finds nothing of ours. Their seeds still run as ordinary tests, and a
# parser belongs in a package without a database.
set -euo pipefail

each=${1:-3s}
found=0

# links_database reports whether a list of packages has a driver in it.
links_database() { grep -q '^modernc.org/sqlite$\|^github.com/jackc/pgx/v5$' <<<"$1"; }

for dir in $(grep -rl --include='*_test.go' '^func Fuzz' ./cmd ./internal | xargs -r -n 1 dirname | sort -u); do
	linked=$(go list -deps -test "$dir")
	if links_database "$linked"; then
		printf 'seeds only, links a database: %s\n' "$dir"
		continue
	fi
	for name in $(sed -n 's/^func \(Fuzz[A-Za-z0-9_]*\)(.*/\1/p' "$dir"/*_test.go); do
		found=$((found + 1))
		printf '%s ' "$name"
		if ! go test -run='^$' -fuzz="^$name\$" -fuzztime="$each" -parallel=2 "$dir" |
			{ grep -v '^fuzz: \|^PASS$' || true; }; then
			# What it choked on, should the folder not outlive the run.
			git ls-files --others "$dir/testdata/fuzz/$name" | xargs -r tail -n +1
			exit 1
		fi
	done
done
printf 'fuzzed: %d functions, %s each\n' "$found" "$each"
[ "$found" -gt 0 ]
