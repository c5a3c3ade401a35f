#!/usr/bin/env bash
# Checks the offline page that .ci/page built in a real browser, against the native program.
# Usage: tests/browser/page.sh PROGRAM
set -euo pipefail
cd "$(dirname "$0")/../.."
. tests/browser/tools.sh
(cd "$tools" && npx --no-install html-validate ../page/emberpot.html)
node "$tools/page.mjs" "$1" target/page/emberpot.html examples
