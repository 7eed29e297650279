#!/usr/bin/env bash
# Says in one line which tool is missing. For tests it installs what it can
# from Debian's packages when it runs as root.
set -euo pipefail
what=${1:-build}
missing=()
have() { command -v "$1" >/dev/null 2>&1; }

have cargo || missing+=("Rust 1.95 or newer (cargo)")
have node || missing+=("Node 20 or newer (node)")
have npm || missing+=("npm")
[ "$what" != test ] || have python3 || missing+=("Python 3 (python3)")
have cc || have gcc || missing+=("a C compiler (cc)")
if [ "$what" = test ] && ! have chromium; then
    if [ "$(id -u)" = 0 ] && have apt-get; then
        echo "installing chromium for the page tests" >&2
        apt-get update -qq >&2
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends chromium >&2
    fi
    have chromium || missing+=("Chromium (chromium)")
fi
if [ ${#missing[@]} -gt 0 ]; then
    printf 'missing:'
    printf ' %s;' "${missing[@]}"
    printf '\n'
    exit 1
fi
