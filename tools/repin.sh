#!/usr/bin/env bash
# Writes the two pinned lists again from pyproject.toml. Needs uv. Add `--upgrade` to take newer releases.
# run.txt: the program and its build back end. dev.txt: the tests' packages, held to the pins of run.txt.
set -euo pipefail
cd "$(dirname "$0")/.."
pin() {
  uv pip compile -q --universal --python-version 3.11 --generate-hashes --no-header --no-annotate \
    --no-emit-index-url --no-emit-find-links "$@"
}
pin pyproject.toml --group build -o requirements/run.txt "$@"
pin --group dev -c requirements/run.txt -o requirements/dev.txt "$@"
