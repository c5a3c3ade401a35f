# Sourced by the checks: browser, driver and validator, installed if they are missing.
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
cp tests/browser/package.json tests/browser/*.mjs tests/browser/.htmlvalidate.json "$tools"
(cd "$tools" && npm install --no-package-lock --no-audit --no-fund --silent)
