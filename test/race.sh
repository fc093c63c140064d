#!/usr/bin/env bash
# Runs tests with the race detector, which needs a C compiler.
#
#   test/race.sh ./internal/web
set -euo pipefail
here=$(dirname "$0")
. "$here/need.sh"

compiler() { command -v "$(go env CC)" >/dev/null; }

if ! compiler && ! { install gcc libc6-dev && compiler; }; then
	missing "there is no C compiler" "the search for data races"
	exit 0
fi
CGO_ENABLED=1 exec "$here/with-postgres.sh" go test -count=1 -timeout=30m -race -short "$@"
