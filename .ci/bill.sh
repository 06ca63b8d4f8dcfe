#!/usr/bin/env bash
# The bill of materials of the program, to bill.json or the file named.
set -euo pipefail
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go build -o "$work/pourwright" ./cmd/pourwright
go run ./.ci/bill "$work/pourwright" >"${1:-$work/bill.json}"
echo "$(grep -c '"type": "library"' "${1:-$work/bill.json}") modules"
