#!/usr/bin/env bash
# Runs a command with Chromium installed, where that is possible.
#
#   test/with-chromium.sh go test ./internal/browsertest
set -euo pipefail
. "$(dirname "$0")/need.sh"

chromium() { command -v chromium || command -v chromium-browser || command -v google-chrome; } >/dev/null

if ! chromium && ! { install chromium && chromium; }; then
	missing "there is no Chromium" "the tests in a browser"
fi
exec "$@"
