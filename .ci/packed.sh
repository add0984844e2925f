#!/usr/bin/env bash
# The package as a user gets it: one tarball, installed into a clean prefix with npm alone, runs the demo.
set -eu
cd "$(dirname "$0")/../packages/cli"
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
npm pack --silent --pack-destination "$room" >/dev/null
tarball=$(ls "$room"/strandwise-*.tgz)
(cd "$room" && npm init --yes >/dev/null && npm install --silent --no-audit --no-fund "$tarball")
strandwise="$room/node_modules/.bin/strandwise"
"$strandwise" --version
"$strandwise" demo --brief --folder "$room" >"$room/demo.txt" 2>/dev/null
grep -q 'RECOMMENDED' "$room/demo.txt"
ls "$room"/*.strandwise >/dev/null
"$strandwise" verify "$room"/*.strandwise
echo 'the packed command installs and runs the demo'
