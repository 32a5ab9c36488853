.PHONY: help run test

help: ## Say what can be asked
	@sed -n 's/^\([a-z]*\): ## \(.*\)/  make \1\t\2/p' $(MAKEFILE_LIST) | expand -t 16

run: ## Open an invented shop's book to look around, and print its address
	@.ci/setup
	cargo build --release
	target/release/flitchbook demo

# A build looks into .sqlx and asks no database, whatever the environment says.
export SQLX_OFFLINE = true

test: ## Format, lint, queries, and every test
	@.ci/setup --tests
	cargo fmt --check
	.ci/queries --check cargo clippy --all-targets -- --deny warnings
	cargo test --no-fail-fast
