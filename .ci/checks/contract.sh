#!/usr/bin/env bash
# The contract as its readers see it: linted, not broken since the last
# release, and enough for generated clients to complete the demo commission.
set -euo pipefail
cd "$(dirname "$0")/../.."
root=$PWD
. .ci/server.sh

cp .ci/checks/contract/* "$work"
start_server
go install github.com/oasdiff/oasdiff@v1.37.0
go install github.com/oapi-codegen/oapi-codegen/v2/cmd/oapi-codegen@v2.8.2
cd "$work"
npm install --no-fund --no-audit --silent
export PATH="$work/node_modules/.bin:$(go env GOPATH)/bin:$PATH" REDOCLY_TELEMETRY=off

mkdir goclient
cp client.go goclient/main.go
(cd goclient && go mod init client 2>&1 && go get github.com/oapi-codegen/runtime@v1.6.0 2>&1) | tail -1

for version in 3.1 3.0; do
	echo "contract $version"
	./pourwright openapi --format "$version" >contract.yaml
	spectral lint --quiet --fail-severity warn --ruleset spectral.yaml contract.yaml
	redocly lint contract.yaml >redocly.log 2>&1 || { cat redocly.log; exit 1; }
	if grep -q 'You have .* warning' redocly.log; then cat redocly.log; exit 1; fi
	openapi-typescript contract.yaml -o schema.ts >openapi-typescript.log
	tsc --strict --noUncheckedIndexedAccess --target es2022 --module nodenext --lib es2022,dom --outDir js client.ts schema.ts
	node js/client.js "$url" "$(cat "$root/testdata/commission.json")"
	oapi-codegen -generate types,client -package main contract.yaml >goclient/contract.go
	(cd goclient && go mod tidy 2>/dev/null && go run . "$url" "$root/testdata/commission.json")
done

oasdiff breaking --fail-on ERR "$root/openapi/released.yaml" "$root/openapi/openapi.yaml"
