# Everything sets itself up in .venv and node_modules from the hashed locks; all it needs is Python 3.11 or newer.
PYTHON ?= python3
BIN := .venv/bin
DOCS := $(wildcard README.md) docs
# What holds a time runs alone, and again, twice at most, where it missed: the machine may have had other work.
TIMED = $(BIN)/python -m pytest -m alone tests
DOCTESTS := --doctest-modules --doctest-glob='*.md'
# `make lock UPGRADE=--upgrade` takes newer releases; without it pins stay unless pyproject.toml moves them.
# The versions in package.json are exact and moved by hand.
UPGRADE ?=
COMPILE = $(BIN)/uv pip compile --quiet --universal --python-version 3.11 --fork-strategy fewest \
	--generate-hashes --no-emit-index-url --no-annotate --custom-compile-command "make lock" $(UPGRADE)
# The page's script and style, made from browser/ and git-ignored, but inside the wheel.
BROWSER := src/rootfill/web/browser
STATIC := src/rootfill/web/static
PAGE := $(STATIC)/page.js $(STATIC)/picture.js $(STATIC)/page.css
# Node: the one in .venv, where there is one, before the machine's.
WITH_NODE := PATH="$(CURDIR)/$(BIN):$$PATH"

.DEFAULT_GOAL := help
.DELETE_ON_ERROR:
.NOTPARALLEL:
.PHONY: help run test check prove bench docs page lock wheel clean

help: ## name the targets
	@sed -n 's/^\([a-z]*\):.*## \(.*\)/  make \1\t\2/p' Makefile | expand -t 16

run: .venv/.ready $(PAGE) ## plan the demo tooth into demo-out, then serve the demo clinic (ONCE=1: files only)
	$(BIN)/rootfill demo --out demo-out
	$(if $(filter 1,$(ONCE)),,$(BIN)/rootfill demo --serve)

test: .venv/.dev node_modules/.dev $(PAGE) ## run every test and doctest; CI=true also fails on a skipped one
	$(BIN)/python -m pytest --numprocesses=2 --dist=loadfile -m 'not alone' $(DOCTESTS) tests src $(DOCS)
	$(TIMED) || $(TIMED) --last-failed || $(TIMED) --last-failed

check: .venv/.dev node_modules/.dev ## lint, format, types, and the floors
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy src tests prove $(if $(wildcard benchmarks/*.py),benchmarks)
	$(BIN)/lint-imports
	$(WITH_NODE) node_modules/.bin/tsc

prove: .venv/.dev $(PAGE) ## gather the slow evidence into docs/evidence (ONLY="name name": these alone)
	$(BIN)/python -m prove $(ONLY)

bench: .venv/.dev ## time what has a budget
	$(BIN)/python -m pytest benchmarks --benchmark-only

docs: .venv/.dev ## run the doctests and the examples in the documents
	$(BIN)/python -m pytest $(DOCTESTS) src $(DOCS)

page: $(PAGE) ## bundle the script and style of the page

lock: .venv/.dev .venv/.node ## pin pyproject.toml and package.json anew, for every platform and Python from 3.11
	$(COMPILE) pyproject.toml --extra pictures --group build --output-file requirements.lock
	$(COMPILE) pyproject.toml --extra pictures --group build --group dev --constraint requirements.lock --output-file requirements-dev.lock
	$(COMPILE) --group pyproject.toml:node --output-file requirements-node.lock
	$(WITH_NODE) npm install --package-lock-only

wheel: .venv/.ready $(PAGE) ## build the wheel into dist
	rm -rf build # what an older build left there would go in too
	$(BIN)/python -m pip wheel -qq --no-build-isolation --no-deps --wheel-dir dist .

clean: ## remove what was built, the environment included
	rm -rf .venv node_modules $(STATIC) build dist demo-out .benchmarks .hypothesis .import_linter_cache
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

# Node 20 or newer with npm: the machine's, or else the registry's package of it.
.venv/.node: requirements-node.lock .venv/.ready
	@node --eval 'process.exit(parseInt(process.versions.node) < 20 ? 1 : 0)' 2>/dev/null \
		&& npm --version >/dev/null 2>&1 \
		|| $(BIN)/python -m pip install -qq --require-hashes -r requirements-node.lock
	@touch $@

# What bundles the page; then what tests and checks need besides.
node_modules/.ready: package-lock.json .npmrc | .venv/.node
	$(WITH_NODE) npm ci --omit=dev --loglevel=error
	@touch $@

node_modules/.dev: node_modules/.ready
	$(WITH_NODE) npm ci --include=dev --loglevel=error
	@touch node_modules/.ready $@

$(PAGE) &: $(wildcard $(BROWSER)/*) package-lock.json Makefile | node_modules/.ready
	$(WITH_NODE) node_modules/.bin/esbuild page=$(BROWSER)/main.ts page=$(BROWSER)/page.css \
		picture=$(BROWSER)/picture.ts --bundle --minify --target=es2022 --external:*.ttf --log-level=warning --outdir=$(STATIC)
