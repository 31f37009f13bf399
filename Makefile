# Everything sets itself up in .venv from the hashed locks; all it needs is Python 3.11 or newer.
PYTHON ?= python3
BIN := .venv/bin
DOCS := $(wildcard README.md) docs
# `make lock UPGRADE=--upgrade` takes newer releases; without it pins stay unless pyproject.toml moves them.
UPGRADE ?=
COMPILE = $(BIN)/uv pip compile pyproject.toml --quiet --universal --python-version 3.11 --fork-strategy fewest \
	--generate-hashes --no-emit-index-url --no-annotate --custom-compile-command "make lock" $(UPGRADE)

.DEFAULT_GOAL := help
.DELETE_ON_ERROR:
.PHONY: help run test check prove bench docs lock wheel clean

help: ## name the targets
	@sed -n 's/^\([a-z]*\):.*## \(.*\)/  make \1\t\2/p' Makefile | expand -t 16

run: .venv/.ready ## plan the demo tooth: tray card, plan.json and report into demo-out (ONCE=1: files only)
	$(BIN)/rootfill demo --out demo-out

test: .venv/.dev ## run every test and doctest; CI=true also fails on a skipped one
	$(BIN)/python -m pytest --doctest-modules --doctest-glob='*.md' tests src $(DOCS)

check: .venv/.dev ## lint, format, types, and the floors
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy src tests prove $(if $(wildcard benchmarks/*.py),benchmarks)
	$(BIN)/lint-imports

prove: .venv/.dev ## gather the slow evidence into docs/evidence (ONLY="name name": these alone)
	$(BIN)/python -m prove $(ONLY)

bench: .venv/.dev ## time what has a budget
	$(BIN)/python -m pytest benchmarks --benchmark-only

docs: .venv/.dev ## run the doctests and the examples in the documents
	$(BIN)/python -m pytest --doctest-modules --doctest-glob='*.md' src $(DOCS)

lock: .venv/.dev ## pin pyproject.toml anew, for every platform and Python from 3.11
	$(COMPILE) --group build --output-file requirements.lock
	$(COMPILE) --group build --group dev --constraint requirements.lock --output-file requirements-dev.lock

wheel: .venv/.ready ## build the wheel into dist
	$(BIN)/python -m pip wheel -qq --no-build-isolation --no-deps --wheel-dir dist .

clean: ## remove what was built, the environment included
	rm -rf .venv build dist demo-out .benchmarks .hypothesis .import_linter_cache
	rm -rf .mypy_cache .pytest_cache .ruff_cache src/rootfill.egg-info

# What the program needs, and the program itself.
.venv/.ready: requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "rootfill needs Python 3.11 or newer: make PYTHON=...")'
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install -qq --require-hashes -r requirements.lock
	$(BIN)/python -m pip install -qq --no-build-isolation --no-deps -e .
	@touch $@

# What its developers need besides.
.venv/.dev: requirements-dev.lock .venv/.ready
	$(BIN)/python -m pip install -qq --require-hashes -r requirements-dev.lock
	@touch $@
