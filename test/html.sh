#!/usr/bin/env bash
# Has the Nu Html Checker (MIT) read every page of the demo farm.
#
# It needs Java and npm. The checker, 30 MB, is the npm package below; it is
# kept in the cache folder of the user and works without a network.
set -euo pipefail
. "$(dirname "$0")/need.sh"

package=vnu-jar@26.9.27
sum=22f15dd39a33bed929d2a5c0cddf5946849a647eca9272bf4d5d00bc7e7a4d47

jar=${XDG_CACHE_HOME:-$HOME/.cache}/pinset/$package.jar

sound() { printf '%s  %s\n' "$sum" "$jar" | sha256sum --check --status 2>/dev/null; }

fetch() {
	local dir
	dir=$(mktemp -d)
	(
		cd "$dir"
		npm pack --silent "$package" >packed && tar xzf "$(tail -n 1 packed)" &&
			mkdir -p "$(dirname "$jar")" && mv package/build/dist/vnu.jar "$jar"
	) && rm -rf "$dir" && sound
}

if ! command -v java >/dev/null || ! { sound || { command -v npm >/dev/null && fetch; }; }; then
	missing "there is no Java, or $package can not be had" "the check of HTML"
	exit 0
fi
PINSET_VNU=$jar exec go test -count=1 -run='^TestHTML$' -v ./internal/browsertest
