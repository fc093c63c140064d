#!/usr/bin/env bash
# Looks for known vulnerabilities that our code can reach.
#
#   test/vuln.sh            with the pinned data: a commit tests alike tomorrow
#   test/vuln.sh latest     with the newest: at every release and bump
#
# govulncheck asks a server by default. The same data come as a Go module, so
# once that is in the module cache no network is needed. The data are under
# CC-BY-4.0 and are not kept in this repository.
set -euo pipefail
. "$(dirname "$0")/need.sh"

version=${1:-v0.0.0-20261105234957-e22db6528018}

if ! module=$(go mod download -json "golang.org/x/vulndb@$version"); then
	missing "golang.org/x/vulndb@$version can not be had" "the search for known vulnerabilities"
	exit 0
fi
dir=$(sed -n 's/^[[:space:]]*"Dir": "\(.*\)",\{0,1\}$/\1/p' <<<"$module")

exec go tool govulncheck -db "file://$dir/data/osv" ./...
