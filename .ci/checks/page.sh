#!/usr/bin/env bash
# The class page and the API's documentation in a real Chromium, and the bench
# sheet measured on the printed page. About half a minute, and with the
# installations a minute.
set -euo pipefail
cd "$(dirname "$0")/../.."
. .ci/server.sh

need chromium chromium
need pdftoppm poppler-utils
start_server --rate 0
cp .ci/checks/page/*.mjs "$work"
(cd "$work" && npm install --silent --no-audit --no-fund playwright-core@1.56.1 axe-core@4.14.1 >/dev/null)
node "$work/page.mjs" "$url"
node "$work/paper.mjs" "$url" testdata/bangles.json
