# make lab        set up and open JupyterLab on the first notebook
# make app        set up and serve the notebooks as pages with their sliders, without code
# make test       set up and run every test
# make test-all   the library, published and stored parts under each Python that is found
# make prove      set up and run the long statistical proofs
# make check      set up and run ruff, mypy, the import contracts and codespell
# make coverage   set up and print what the library and published tests leave out
# make mutants    set up, change the code in small ways and list the changes no test notices
# make notebooks  set up and run the notebooks anew, in place
# make handouts   set up and write the notebooks as pages without code, key pictures, reference
# make rooms      set up and draw the package's rooms into DEVELOPERS.md
# make bench      set up and print the speed ratios
# make lock       choose the pinned versions anew

PYTHON ?= python3
BIN := .venv/bin
READY := .venv/ready
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check
ROOT := $(if $(filter 0,$(shell id -u)),--allow-root)

.PHONY: lab app browser test test-all prove check coverage mutants notebooks handouts rooms bench lock
.DELETE_ON_ERROR:

$(READY): constraints.txt pyproject.toml
	@command -v $(PYTHON) >/dev/null || { echo "Python 3.11 or newer is needed, '$(PYTHON)' was not found."; exit 1; }
	@$(PYTHON) -c 'import sys; sys.version_info >= (3, 11) or sys.exit("Python 3.11 or newer is needed.")'
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { echo "Python's venv module is missing: on Debian 'apt-get install python3-venv'."; exit 1; }
	$(PYTHON) -m venv --clear .venv
	@echo "Installing the packages; this takes some minutes the first time."
	$(PIP) --require-hashes --no-deps -r constraints.txt
	$(PIP) --no-deps --no-build-isolation -e .
	touch $@

lab: $(READY)
	$(BIN)/python -m jupyterlab $(ROOT) notebooks/00_start_here.ipynb

app: $(READY)
	JUPYTER_PATH=app JUPYTER_CONFIG_PATH=app $(BIN)/python app/serve.py notebooks $(OPTIONS)

browser:
	@$(PYTHON) tools/find_browser.py

test: browser
	@$(MAKE) --no-print-directory $(READY)
	$(BIN)/python tools/run_tests.py

test-all:
	$(PYTHON) tools/test_all.py

prove: $(READY)
	$(BIN)/python -m pytest -q -n 2 -m prove tests

check: $(READY)
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/codespell paddlebal tools tests benchmarks notebooks/*.ipynb \
	    README.md DEVELOPERS.md CHANGELOG.md data/README.md

coverage: $(READY)
	$(BIN)/python -m pytest -q tests --ignore=tests/notebooks --ignore=tests/browser \
	    --cov --cov-report=term-missing:skip-covered

mutants: $(READY)
	$(BIN)/python -m mutmut run --max-children 1
	$(BIN)/python -m mutmut results

notebooks: $(READY)
	$(BIN)/python tools/run_notebooks.py

handouts: $(READY)
	$(BIN)/python tools/make_handouts.py

rooms: $(READY)
	$(BIN)/python tools/draw_rooms.py

bench: $(READY)
	for file in benchmarks/*.py; do $(BIN)/python "$$file" || exit 1; done

lock: $(READY)
	$(BIN)/python -m uv pip compile pyproject.toml --quiet --all-extras --universal \
	    --python-version 3.11 --generate-hashes --upgrade --no-header --no-annotate \
	    --no-emit-index-url -o constraints.txt
