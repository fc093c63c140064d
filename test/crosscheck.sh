#!/usr/bin/env bash
# Computes the reference answers of the tests again, with the programs that
# gave them, and shows what differs from those that the tests read.
#
# It needs R and SciPy; internal/calc/stats/testdata/README.md names the
# versions. On Debian: r-base-core, r-cran-{boot,coin,emmeans,exactranktests,
# jsonlite,mass,multcomp,mvtnorm,rpact}, python3-scipy, python3-mpmath. Another
# version may give other last digits. It takes some minutes.
set -euo pipefail
. "$(dirname "$0")/need.sh"

scripts=$PWD/internal/calc/stats/testdata
python=
for p in "${PYTHON:-python3}" /usr/bin/python3; do
	if "$p" -c 'import scipy, mpmath' 2>/dev/null; then python=$p && break; fi
done
if [ -z "$python" ] || ! command -v Rscript >/dev/null; then
	missing "there is no R with SciPy beside it" "the reference answers"
	exit 0
fi

copy=$(mktemp -d)
trap 'rm -rf "$copy"' EXIT
cp -r "$scripts/." "$copy"
cd "$copy"
mkdir made
for s in scripts/*; do
	case $s in
	*/common.R | */trim.py) ;; # no answers of their own
	*/01_make_synthetic.R) ;;  # its data are the fixture
	*.R) echo "$s" && Rscript "$s" >/dev/null ;;
	*.py) echo "$s" && "$python" "$s" >/dev/null ;;
	esac
done
"$python" scripts/trim.py
diff -r "$scripts/ref" ref
echo "all reference answers are the same"
