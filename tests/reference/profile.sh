#!/bin/sh
# Second implementation of the profile (Python, Bumble's in-process link), against document, tables and vectors.
# Needs python3 with venv and, the first time, a package index. The environment stays under target/.
set -eu
cd "$(dirname "$0")/../.."
venv=target/reference/profile
if ! "$venv/bin/python" -c 'import bumble' 2>/dev/null; then
    python3 -m venv "$venv"
    "$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/reference/profile-requirements.txt
fi
exec timeout 300 "$venv/bin/python" -B tests/reference/profile_bumble.py
