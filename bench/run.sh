#!/usr/bin/env bash
# Builds the program in release and runs every bench in one go.
set -euo pipefail
cd "$(dirname "$0")"
target=${CARGO_TARGET_DIR:-$(cd .. && pwd)/target}
export CARGO_TARGET_DIR=$target
(cd .. && cargo build --release --locked -p matewell --bin matewell)
(cd .. && cargo build --release --locked -p matewell-store --example ingest)
(cd .. && cargo build --release --locked -p matewell-line --example speed)
(cd .. && cargo build --release --locked -p matewell-app --example gauging_speed)
(cd .. && cargo build --release --locked -p matewell-uncertainty --example monte_carlo_speed)
cargo build --release
"$target/release/matewell-bench" "$target/release/matewell"
"$target/release/examples/ingest" 1000000
"$target/release/examples/speed"
"$target/release/examples/gauging_speed"
"$target/release/examples/monte_carlo_speed"
"$target/release/trace"
