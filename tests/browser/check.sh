#!/usr/bin/env bash
# Opens reports and class pages in a real browser and validates HTML and SVG.
# Usage: tests/browser/check.sh PROGRAM [BATCH...]. Needs apt-get or the tools already there.
set -euo pipefail
cd "$(dirname "$0")/../.."
program=$1
shift
batches=("$@")
if [ ${#batches[@]} -eq 0 ]; then
    batches=(examples/zinc-aluminate-blue.toml examples/strontium-aluminate-glow.toml)
fi

missing=()
command -v chromium > /dev/null || missing+=(chromium)
command -v xmllint > /dev/null || missing+=(libxml2-utils)
if [ ${#missing[@]} -gt 0 ]; then
    apt-get update -q > /dev/null
    DEBIAN_FRONTEND=noninteractive apt-get install -qy "${missing[@]}" > /dev/null
fi

# Browser driver and validator stay out of the sources, in the build folder.
tools=target/browser
mkdir -p "$tools"
cp tests/browser/package.json tests/browser/check.mjs tests/browser/.htmlvalidate.json "$tools"
(cd "$tools" && npm install --no-package-lock --no-audit --no-fund --silent)

out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
pages=()
for batch in "${batches[@]}"; do
    name=$(basename "$batch" .toml)
    # Exit code 1 means: done, with a warning of the danger class.
    code=0
    "$program" report "$batch" -o "$out/$name.html" --pictures "$out/$name" || code=$?
    test "$code" -le 1 || { echo "report $batch: exit $code"; exit 1; }
    "$program" report --class "$batch" -o "$out/$name-class.html" || test $? -le 1
    xmllint --noout "$out/$name"/*.svg
    pages+=("$out/$name.html" "$out/$name-class.html")
done
(cd "$tools" && npx --no-install html-validate "${pages[@]}" && node check.mjs "${pages[@]}")
