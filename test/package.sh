#!/usr/bin/env bash
# Has the Data Package library of Frictionless Data (MIT, npm) read a package
# of the demo farm: its description, and every table against its schema and
# the tables that it refers to.
#
# It needs Node and npm, and a network the first time.
set -euo pipefail
. "$(dirname "$0")/need.sh"

library=datapackage@1.1.10

if ! command -v npm >/dev/null; then
	missing "there is no npm" "the check of packages"
	exit 0
fi
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
go build -o "$dir/pinset" ./cmd/pinset
timeout 20 "$dir/pinset" demo --data "$dir/farm" --listen 127.0.0.1:0 >/dev/null || [ $? = 124 ]
"$dir/pinset" trial package 'Millet or oats' "$dir/sent" --data "$dir/farm"
cd "$dir/sent"
npm install --silent --no-audit --no-fund --prefix "$dir" "$library" || { missing "$library can not be had" "the check of packages" && exit 0; }
NODE_PATH=$dir/node_modules node -e '
const { Package } = require("datapackage");
(async () => {
	const p = await Package.load("datapackage.json", { basePath: "." });
	if (!p.valid) throw new Error(p.errors.join("\n"));
	for (const r of p.resources.filter((r) => r.tabular)) {
		const rows = await r.read({ relations: r.name !== "jars" && r.name !== "cooks" });
		console.log(r.name, rows.length, "rows");
	}
})().catch((e) => { console.error(e.message, e.errors || ""); process.exit(1); });
'
