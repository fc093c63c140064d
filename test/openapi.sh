#!/usr/bin/env bash
# Has an independent validator (openapi-schema-validator of Seriousme, MIT,
# npm) hold the document of the JSON API to the OpenAPI 3.1 schema.
#
# It needs Node and npm, and a network the first time.
set -euo pipefail
. "$(dirname "$0")/need.sh"

library=@seriousme/openapi-schema-validator@2

if ! command -v npm >/dev/null; then
	missing "there is no npm" "the check of the API's document"
	exit 0
fi
dir=$(mktemp -d)
trap 'kill $served 2>/dev/null; rm -rf "$dir"' EXIT
go build -o "$dir/pinset" ./cmd/pinset
"$dir/pinset" demo --listen 127.0.0.1:8479 >/dev/null &
served=$!
cd "$dir"
npm install --silent --no-audit --no-fund "$library" || { missing "$library can not be had" "the check of the API's document" && exit 0; }
curl -sf --retry 20 --retry-connrefused --retry-delay 1 http://127.0.0.1:8479/api/v1/openapi.json -o openapi.json
cat >check.mjs <<'JS'
import { Validator } from "@seriousme/openapi-schema-validator";
import { readFileSync } from "node:fs";
const v = new Validator();
const { valid, errors } = await v.validate(JSON.parse(readFileSync("openapi.json", "utf8")));
console.log("OpenAPI", v.version, valid ? "valid" : JSON.stringify(errors, null, 1));
process.exit(valid ? 0 : 1);
JS
node check.mjs
