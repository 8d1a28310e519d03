# Two commands: `make run` and `make test`. The rest are parts of them.

VENV := .venv
PY := $(VENV)/bin/python
NEW_ENOUGH := -c 'import sys; sys.exit(sys.version_info < (3, 11))'
PYTHON ?= $(shell for name in python3 python3.13 python3.12 python3.11; do \
  $$name $(NEW_ENOUGH) >/dev/null 2>&1 && echo $$name && break; done)
SERVE ?= yes
UV := $(VENV)/bin/uv pip install -q --python $(PY)

.PHONY: run test lint types unit wheel docs pictures lock clean debian gallery population benchmarks screens faults nonsense walks

run: $(VENV)/runtime.stamp
	@$(VENV)/bin/cyclewright demo --out build/demo $(if $(filter no,$(SERVE)),--no-serve,)

test: debian $(VENV)/test.stamp lint types unit wheel

lint:
	$(VENV)/bin/ruff check src tests benchmarks tools
	$(VENV)/bin/ruff format --check src tests benchmarks tools
	$(VENV)/bin/lint-imports --no-cache

types:
	$(VENV)/bin/mypy

unit:
	$(VENV)/bin/pytest -n 2 --dist worksteal

# The wheel installs in an environment of its own, and takes its example bike to hand-over there.
wheel:
	rm -rf build/wheel && mkdir -p build/wheel
	$(PY) -m build --wheel --no-isolation --outdir build/wheel . >/dev/null
	$(PY) -m venv build/wheel/env
	$(VENV)/bin/uv pip install -q --python build/wheel/env/bin/python --require-hashes -r requirements/runtime.txt
	$(VENV)/bin/uv pip install -q --python build/wheel/env/bin/python --no-deps build/wheel/*.whl
	cd build/wheel && env/bin/cyclewright calc atmosphere altitude='1000 m' --json >/dev/null
	cd build/wheel && env/bin/cyclewright demo --no-serve --out demo >/dev/null
	rm -rf build/wheel

docs: $(VENV)/test.stamp
	@mkdir -p build
	$(PY) -m cyclewright.mechanics.glossary > docs/glossary.md
	$(PY) tools/countries.py > docs/countries.md
	$(PY) tests/outside/report.py > docs/validation.md
	$(PY) tests/commands.py > docs/commands.md
	PYTHONPATH=tests $(PY) tests/advice/digits.py > build/advised.csv
	mv build/advised.csv tests/data/advised.csv

# The pictures of the front page: look at them before they are committed.
pictures: $(VENV)/test.stamp
	$(VENV)/bin/cyclewright demo --out build/demo --no-serve >/dev/null
	$(PY) tools/make_pictures.py build/demo

# Every page on a phone and a desk, light and dark, with contact sheets: to be looked at.
screens: $(VENV)/test.stamp
	$(PY) tools/make_screens.py build/screens --keep docs/pictures

# Twelve bodies on the three bikes, to be looked at; a few small ones stay beside the documents.
gallery: $(VENV)/test.stamp
	$(PY) tools/gallery.py build/gallery --keep docs/pictures/gallery

# Everybody of the survey on every bike: who fits, and one call beside a plain loop.
population: $(VENV)/test.stamp
	$(PY) benchmarks/population.py --page docs/population.md

benchmarks: $(VENV)/test.stamp
	$(PY) benchmarks/cold_start.py
	$(PY) benchmarks/append.py
	$(PY) benchmarks/load.py
	$(PY) benchmarks/redraw.py

# Kills, power cuts and damaged files by the thousand; the figures go to docs/faults.md.
faults: debian $(VENV)/test.stamp
	FAULTS_KILLS=600 FAULTS_TORN=12 FAULTS_EVERY=1 FAULTS_PAGES=2000 \
	  FAULTS_REPORT=docs/faults.md $(VENV)/bin/pytest -q -n 2 --dist worksteal tests/faults

# Nonsense at every step of many generated bikes; the figures go to docs/nonsense.md.
nonsense: $(VENV)/test.stamp
	NONSENSE=80 NONSENSE_REPORT=docs/nonsense.md \
	  $(VENV)/bin/pytest -q -s -k generated tests/workshop/test_nonsense.py

# Every field, every fact and many histories round the gates; the figures go to docs/walks.md.
walks: $(VENV)/test.stamp
	WALKS=full WALKS_REPORT=docs/walks.md $(VENV)/bin/pytest -q tests/walks \
	  tests/workshop/test_holding.py

lock: $(VENV)/bootstrap.stamp
	for name in bootstrap test runtime; do $(VENV)/bin/uv pip compile -q --universal \
	  --python-version 3.11 --generate-hashes --no-annotate --no-header requirements/$$name.in \
	  -o requirements/$$name.txt || exit 1; done

debian:
	@sh tools/debian.sh

clean:
	rm -rf build $(VENV)

$(VENV)/bootstrap.stamp: requirements/bootstrap.txt
	@test -n "$(PYTHON)" && $(PYTHON) $(NEW_ENOUGH) \
	  || { echo "Cyclewright needs Python 3.11 or newer: install it, or say make run PYTHON=/path/to/python3"; exit 1; }
	@test -x $(PY) || $(PYTHON) -m venv $(VENV) \
	  || { echo "Python's venv module is missing: on Debian, apt-get install python3-venv"; exit 1; }
	@$(PY) -m pip install -q --disable-pip-version-check --require-hashes -r requirements/bootstrap.txt
	@touch $@

$(VENV)/runtime.stamp: $(VENV)/bootstrap.stamp requirements/runtime.txt pyproject.toml
	@echo "Setting up .venv from the hashed lock (about half a minute)…"
	@$(UV) --compile-bytecode --require-hashes -r requirements/runtime.txt
	@$(UV) --no-deps --no-build-isolation -e .
	@touch $@

$(VENV)/test.stamp: $(VENV)/runtime.stamp requirements/test.txt
	@$(UV) --compile-bytecode --require-hashes -r requirements/test.txt
	@touch $@
