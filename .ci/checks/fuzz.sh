#!/usr/bin/env bash
# 100,000 requests made from the contract; FUZZ_SEED says which.
set -euo pipefail
cd "$(dirname "$0")/../.."
FUZZ_REQUESTS=${FUZZ_REQUESTS:-100000} go test -count 1 -v -timeout 5m ./internal/fuzz
