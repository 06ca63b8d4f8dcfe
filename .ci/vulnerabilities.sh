#!/usr/bin/env bash
# The program against the Go vulnerability database, which is a module of the
# Go proxy and so can be had where the database's own site cannot. Checked is
# what a release is built with: the toolchain named here, not the machine's.
set -euo pipefail
cd "$(dirname "$0")/.."
release=go1.26.10
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

go install golang.org/x/vuln/cmd/govulncheck@v1.9.0
osv=$(cd "$work" && go mod download -json golang.org/x/vulndb@latest | sed -n 's/.*"Dir": "\(.*\)",/\1/p')/data/osv
GOTOOLCHAIN=$release CGO_ENABLED=0 go build -o "$work/pourwright" ./cmd/pourwright
echo "database: $(basename "${osv%/data/osv}"); built with $release"
"$(go env GOPATH)/bin/govulncheck" -db "file://$osv" -mode binary "$work/pourwright"
