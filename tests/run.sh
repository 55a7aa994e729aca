#!/bin/sh
# All checks, from nothing: sh tests/run.sh [arguments for pytest]
set -eu
cd "$(dirname "$0")/.."
if command -v dpkg-query >/dev/null; then
    NEED_SYSTEM=yes
fi
INSTALL=".[dev]"
. tests/setup.sh
[ -z "${NEED_SYSTEM:-}" ] || need_packages strace iproute2 cups cups-client postgresql chromium fonts-liberation zsh fish mandoc

bin=.venv/bin
echo "== ruff"
$bin/ruff check .
$bin/ruff format --check .
echo "== mypy"
$bin/mypy
echo "== imports between the rooms"
$bin/lint-imports --no-cache | tail -n 14
echo "== tests"
$bin/python -m pytest --cov --cov-report=term:skip-covered --cov-fail-under=90 -n 2 "$@"
