#!/usr/bin/env bash
# 10,000 requests made from the contract; FUZZ_SEED says which.
set -euo pipefail
cd "$(dirname "$0")/../.."
FUZZ_REQUESTS=${FUZZ_REQUESTS:-10000} go test -count 1 -v -timeout 20m ./internal/fuzz
