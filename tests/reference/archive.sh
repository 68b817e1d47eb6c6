#!/bin/sh
# What replay and export write, read by other programs: DuckDB, Polars, tshark, jq, and the public JUnit schema through
# libxml2. Needs python3 with venv, cargo and, the first time, a package index and apt. The environment stays under
# target/.
set -eu
cd "$(dirname "$0")/../.."
venv=target/reference/archive
if ! "$venv/bin/python" -c 'import duckdb, lxml, polars' 2>/dev/null; then
    python3 -m venv "$venv"
    "$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/reference/archive-requirements.txt
fi
# The schema of the Jenkins xUnit plugin (MIT licence), which pytest ships with its sources.
schema="$venv/junit-10.xsd"
if ! [ -f "$schema" ]; then
    "$venv/bin/pip" download --quiet --disable-pip-version-check --no-deps --no-binary :all: -d "$venv" pytest==8.4.2
    tar -xzf "$venv"/pytest-8.4.2.tar.gz -C "$venv" --strip-components=3 pytest-8.4.2/testing/example_scripts/junit-10.xsd
fi
missing=
command -v tshark >/dev/null || missing="$missing tshark"
command -v jq >/dev/null || missing="$missing jq"
command -v zstdcat >/dev/null || missing="$missing zstd"
if [ -n "$missing" ]; then
    apt-get update -qq
    # shellcheck disable=SC2086
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
fi
cargo=${CARGO:-cargo}
$cargo build --quiet --bin loopmargin
export LOOPMARGIN="${CARGO_TARGET_DIR:-target}/debug/loopmargin" JUNIT_SCHEMA="$schema"
exec timeout 300 "$venv/bin/python" -B tests/reference/archive.py
