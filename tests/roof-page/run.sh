#!/usr/bin/env bash
# The roof page in a browser without a screen, at the size of a phone. Installs what it needs.
# ROOF_PAGE_PICTURES=DIR keeps screenshots there.
set -euo pipefail
cd "$(dirname "$0")/../.."
missing=()
for package in chromium chromium-driver python3-venv fonts-dejavu-core; do
  dpkg -s "$package" >/dev/null 2>&1 || missing+=("$package")
done
if [ ${#missing[@]} -gt 0 ]; then
  apt-get update -qq
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
fi
venv=target/roof-page-venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/roof-page/requirements.txt
LOOPMARGIN_BIN="$(realpath "${LOOPMARGIN_BIN:-target/release/loopmargin}")"
export LOOPMARGIN_BIN
# Chromium knows its driver; nothing is fetched.
export SE_OFFLINE=true
exec "$venv/bin/python" tests/roof-page/test_roof_page.py "$@"
