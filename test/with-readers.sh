#!/usr/bin/env bash
# Runs a command with what draws a PDF and reads its square codes installed,
# where that is possible: Debian's poppler-utils and zbar-tools.
#
#   test/with-readers.sh go test ./internal/label
set -euo pipefail
. "$(dirname "$0")/need.sh"

readers() { command -v pdftoppm && command -v zbarimg; } >/dev/null

if ! readers && ! { install poppler-utils zbar-tools && readers; }; then
	missing "there is no pdftoppm or no zbarimg" "the labels as printed"
fi
exec "$@"
