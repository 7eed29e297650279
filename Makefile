# `make run` builds everything, makes the invented demo lab if there is no data
# yet, and serves it on this machine. `make test` runs every check.

DATA ?= .demo/larkmoor.db
PORT ?= 7373
CARGO ?= cargo

.PHONY: run build test lint unit page e2e validation screenshots bench clean

run: needs-build
	@mkdir -p $(dir $(DATA))
	@$(CARGO) build --locked --bin matewell
	@$(CARGO) run --locked --quiet --bin matewell -- --data $(DATA) serve --demo --port $(PORT)

build: needs-build
	$(CARGO) build --locked --workspace

test: needs-test lint unit page e2e

lint:
	$(CARGO) fmt --all --check
	$(CARGO) clippy --locked --workspace --all-targets -- -D warnings

unit:
	$(CARGO) test --locked --workspace

page: needs-build
	cd web && npm ci --ignore-scripts --no-audit --no-fund && npm run check && npm run unit

e2e:
	$(CARGO) build --locked --bin matewell
	cd web && MATEWELL_BIN=$$($(CARGO) metadata --format-version 1 --no-deps --locked | sed 's/.*"target_directory":"\([^"]*\)".*/\1/')/debug/matewell npm run e2e

screenshots:
	$(CARGO) build --locked --bin matewell
	cd web && MATEWELL_BIN=$$($(CARGO) metadata --format-version 1 --no-deps --locked | sed 's/.*"target_directory":"\([^"]*\)".*/\1/')/debug/matewell npm run screenshots

# Writes VALIDATION.md from the published checks; a test fails when it is stale.
validation:
	$(CARGO) run --locked --quiet --bin matewell -- validation --markdown > VALIDATION.md

bench:
	cd bench && ./run.sh

clean:
	$(CARGO) clean
	rm -rf web/node_modules web/dist .demo

.PHONY: needs-build needs-test
needs-build:
	@./scripts/needs.sh build
needs-test:
	@./scripts/needs.sh test
