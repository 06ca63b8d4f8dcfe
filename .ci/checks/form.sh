#!/usr/bin/env bash
# The sample order form of the documentation, in a real Chromium, calls a
# server of another origin. About 10 s, and with the installations half a minute.
set -euo pipefail
cd "$(dirname "$0")/../.."
. .ci/server.sh

need chromium chromium
build_server
cp .ci/checks/form/check.mjs "$work"
(cd "$work" && npm install --silent --no-audit --no-fund playwright-core@1.56.1 >/dev/null)
node "$work/check.mjs" "$work/pourwright" docs/order-form.html
