#!/usr/bin/env bash
# Opens reports and class pages in a real browser and validates HTML and SVG.
# Usage: tests/browser/check.sh PROGRAM [BATCH...]. Needs apt-get or the tools already there.
set -euo pipefail
cd "$(dirname "$0")/../.."
program=$1
shift
batches=("$@")
if [ ${#batches[@]} -eq 0 ]; then
    batches=(examples/zinc-aluminate-blue.toml examples/garnet-phosphor.toml)
fi

. tests/browser/tools.sh

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
