#!/usr/bin/env bash
# The gate: format, lint, types, import contracts, tests. Arguments go to pytest.
#
#   bash tests/run.sh [--full] [tests/analysis -k pedal ...]
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
. app/prepare.sh
prepare tests/requirements.txt

failed=()
check() {
  local tool=$1
  shift
  printf '== %s %s\n' "$tool" "$*"
  ".venv/bin/$tool" "$@" || failed+=("$tool ${1:-}")
}
check ruff format --check .
check ruff check .
check mypy
check lint-imports
check pytest "$@"

[ ${#failed[@]} = 0 ] || stop "The gate is closed by:" "${failed[@]}"
