# Two commands do everything on a fresh machine: make demo, make test.
VENV := .venv
BIN := $(VENV)/bin
PYTHON ?= python3

.PHONY: demo test checks python page tests browser pins clean

demo: $(VENV)/stamp
	$(BIN)/chape demo jobs/demo

test: checks tests

checks: $(VENV)/stamp
	$(MAKE) --jobs=2 python page

python: $(VENV)/stamp
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

page: $(VENV)/stamp
	if command -v npm >/dev/null 2>&1; then \
	  cd web && { [ -d node_modules ] || npm ci --ignore-scripts --no-audit --no-fund; } && npm test; \
	else \
	  echo "The checks of the page's own code are skipped: there is no npm."; \
	fi

tests: $(VENV)/stamp browser
	$(BIN)/pytest -n auto --dist loadfile --no-loadscope-reorder

# The bench is tested in a real browser: one that is there, or one that may be installed here.
browser:
	@if command -v chromium >/dev/null 2>&1 || command -v chromium-browser >/dev/null 2>&1; then :; \
	elif [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1 \
	  && apt-get install -qq -y --no-install-recommends chromium >/dev/null 2>&1; then :; \
	else echo "There is no Chromium here: the tests in a real browser will be skipped."; fi

# The page of the bench is built as the package is installed, again only where web/ has changed.
WEB := hatch_build.py $(shell find web -type f -not -path '*/node_modules/*' 2>/dev/null)

# pip needs nothing but Python; uv does the same faster where it is present.
$(VENV)/stamp: pyproject.toml constraints.txt $(WEB)
	$(PYTHON) -m venv $(VENV)
	if command -v uv >/dev/null 2>&1; then \
	  uv pip install --quiet --python $(BIN)/python --constraint constraints.txt --editable '.[test]'; \
	else \
	  $(BIN)/python -m pip install --quiet --disable-pip-version-check --constraint constraints.txt --editable '.[test]'; \
	fi
	touch $@

pins: ## renews constraints.txt (needs uv)
	uv pip compile --universal --no-header --no-annotate --python-version 3.11 --extra test pyproject.toml --output-file constraints.txt

clean:
	rm -rf $(VENV) .mypy_cache .ruff_cache .pytest_cache .hypothesis
