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
have cc || have gcc || missing+=("a C compiler (cc)")
if [ "$what" = test ] && ! have chromium; then
    if [ "$(id -u)" = 0 ] && have apt-get; then
        echo "installing chromium for the page tests" >&2
        apt-get update -qq >&2
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends chromium >&2
    fi
    have chromium || missing+=("Chromium (chromium)")
fi
# The store is tested on a private cluster; nothing of it is left running.
have_cluster() { have initdb || compgen -G "/usr/lib/postgresql/*/bin/initdb" >/dev/null; }
if [ "$what" = test ] && ! have_cluster; then
    if [ "$(id -u)" = 0 ] && have apt-get; then
        echo "installing postgresql for the tests of the store" >&2
        apt-get update -qq >&2
        # No cluster of its own: the tests lay theirs.
        mkdir -p /etc/postgresql-common
        [ -e /etc/postgresql-common/createcluster.conf ] ||
            echo "create_main_cluster = false" >/etc/postgresql-common/createcluster.conf
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends postgresql >&2
    fi
    have_cluster || [ -z "${CI:-}" ] || missing+=("PostgreSQL (initdb)")
    have_cluster || echo "no PostgreSQL: its tests will be skipped, and say so" >&2
fi
if [ ${#missing[@]} -gt 0 ]; then
    printf 'missing:'
    printf ' %s;' "${missing[@]}"
    printf '\n'
    exit 1
fi
