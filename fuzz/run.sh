#!/usr/bin/env bash
# Throws bytes at the Touchstone reader: ./run.sh [EXECUTIONS]
# Needs a nightly Rust; no cargo subcommand. A failing input is written beside
# this script as crash-*.
set -euo pipefail
cd "$(dirname "$0")"
export RUSTFLAGS="-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
-Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
-Cllvm-args=-sanitizer-coverage-trace-compares --cfg fuzzing -Ccodegen-units=1"
target=x86_64-unknown-linux-gnu
cargo +nightly build --release --target "$target"
binary=${CARGO_TARGET_DIR:-target}/$target/release/touchstone
mkdir -p corpus/touchstone
"$binary" corpus/touchstone seeds/touchstone -dict=touchstone.dict -max_len=2048 \
    -runs="${1:-10000000}" -artifact_prefix=./ -print_final_stats=1
