SHELL := /bin/bash
PY := .venv/bin/python
UV := .venv/bin/uv

.PHONY: demo test lint bench docs lock catalogue soak clean

.venv/uv:
	python3 -m venv .venv
	$(PY) -m pip install -q --disable-pip-version-check uv==0.13.9
	@touch $@

.venv/runtime: .venv/uv requirements.lock pyproject.toml
	$(UV) pip install -q --python .venv --require-hashes -r requirements.lock
	@echo "$(CURDIR)/src" > "$$($(PY) -c 'import sysconfig; print(sysconfig.get_path("purelib"))')/ebbwell.pth"
	@printf '#!/bin/sh\nexec "%s/.venv/bin/python" -m ebbwell "$$@"\n' "$(CURDIR)" > .venv/bin/ebbwell
	@chmod +x .venv/bin/ebbwell
	@touch $@

.venv/dev: .venv/runtime requirements-dev.lock
	$(UV) pip install -q --python .venv --require-hashes -r requirements-dev.lock
	@touch $@

demo: .venv/runtime
	@.venv/bin/ebbwell demo

lint: .venv/dev
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .
	.venv/bin/mypy
	.venv/bin/lint-imports
	.venv/bin/deptry .

test: .venv/dev lint
	$(PY) -m pytest -n 2 --dist worksteal

bench: .venv/dev
	$(PY) -m bench

docs: .venv/dev
	$(PY) -m tools.reference
	$(PY) -m tools.checks

catalogue: .venv/dev
	$(PY) -m tools.catalogue

soak: .venv/dev
	$(PY) -m pytest -m soak -n 2

lock: .venv/uv
	$(UV) pip compile pyproject.toml --universal --generate-hashes --no-header --no-annotate -q -o requirements.lock
	$(UV) pip compile pyproject.toml --group test --group lint --universal --generate-hashes --no-header --no-annotate -q -o requirements-dev.lock

clean:
	rm -rf .venv .mypy_cache .ruff_cache .hypothesis
