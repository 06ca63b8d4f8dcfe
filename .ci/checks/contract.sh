#!/usr/bin/env bash
# The contract as its readers see it: linted, and enough for clients that are
# generated as the tools come, one in Go and two in TypeScript, to compile, to
# price to the last digit and to complete the demo commission.
set -euo pipefail
cd "$(dirname "$0")/../.."
root=$PWD
. .ci/server.sh

cp .ci/checks/contract/* "$work"
start_server
go install github.com/oapi-codegen/oapi-codegen/v2/cmd/oapi-codegen@v2.8.2
cd "$work"
npm install --no-fund --no-audit --silent
export PATH="$work/node_modules/.bin:$(go env GOPATH)/bin:$PATH" REDOCLY_TELEMETRY=off
order=$root/testdata/commission.json
strict="--strict --noUncheckedIndexedAccess --target es2022 --lib es2022,dom,dom.iterable"

mkdir goclient
mv client.go goclient/main.go
(cd goclient && go mod init client 2>&1 && go get github.com/oapi-codegen/runtime@v1.6.0 2>&1) | tail -1

for version in 3.1 3.0; do
	echo "contract $version"
	./pourwright openapi --format "$version" >contract.yaml
	spectral lint --quiet --fail-severity warn --ruleset spectral.yaml contract.yaml
	redocly lint contract.yaml >redocly.log 2>&1 || { cat redocly.log; exit 1; }
	if grep -q 'You have .* warning' redocly.log; then cat redocly.log; exit 1; fi

	openapi-typescript contract.yaml -o schema.ts >generate.log
	tsc $strict --module nodenext --outDir fetch fetch.ts schema.ts
	node fetch/fetch.js "$url" "$(cat "$order")"

	openapi-ts -i contract.yaml -o hey >generate.log
	tsc $strict --module commonjs --moduleResolution node10 --outDir sdk sdk.ts
	echo '{"type": "commonjs"}' >sdk/package.json
	node sdk/sdk.js "$url" "$(cat "$order")"

	oapi-codegen -generate types,client -package main contract.yaml >goclient/contract.go
	(cd goclient && go mod tidy 2>/dev/null && go run . "$url" "$order")
done
