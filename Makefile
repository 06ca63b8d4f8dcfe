# make run      serve the API, its documentation and the class page on one port
# make demo     print the plan of the demo commission
# make demo-order  the same for an order of several pieces
# make test     all Go tests; needs nothing but Go
# make attack   every attack that we know, on a server of this machine
# make calibrate  how often intervals of calibrations cover, over synthetic studios
# make mutation PKG=./internal/fluid   which broken formulas its tests do not notice
.PHONY: run demo demo-order test bench fuzz attack mutation calibrate openapi workbook lint

GO ?= go

run:
	$(GO) run ./cmd/pourwright serve

demo:
	$(GO) run ./cmd/pourwright demo

demo-order:
	$(GO) run ./cmd/pourwright demo-order

test:
	$(GO) test -timeout 60m ./...

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./...

# A million requests made from the contract, of a seed of the hour; then each
# fuzz target for a minute, or FUZZTIME. Making inputs smaller is kept short: in
# the slower targets it would take all of the minute.
FUZZTIME ?= 1m
FUZZ_REQUESTS ?= 1000000
FUZZ_SEED ?= $(shell date +%s)
fuzz:
	FUZZ_REQUESTS=$(FUZZ_REQUESTS) FUZZ_SEED=$(FUZZ_SEED) $(GO) test -count 1 -v -timeout 2h ./internal/fuzz
	@grep -rlE '^func Fuzz' --include '*_test.go' . | while read -r f; do \
		for t in $$(sed -n 's/^func \(Fuzz[A-Za-z0-9_]*\).*/\1/p' $$f); do \
			$(GO) test -run '^$$' -fuzz "^$$t$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 20x ./$$(dirname $$f) || exit 1; \
		done; \
	done

# Every attack that we know on a server of this machine: 20 s each, then ten
# minutes of all. It takes 512 MiB and both cores, and stops by itself.
attack:
	ATTACK_ALL=10m .ci/checks/hosting.sh

# Breaks PKG in one place after the other; SEED draws other places, TESTS names
# further packages whose tests may notice, MORE hands on flags (-per 4, -list).
SEED ?= 1
mutation:
	$(GO) run ./.ci/mutation -pkg $(PKG) -seed $(SEED) $(if $(TESTS),-tests $(TESTS)) $(MORE)

# Synthetic studios of the prior pour, each with its scatter from pour to pour;
# their calibrations must cover what they are. And what posteriors predict, in full.
STUDIOS ?= 1000
calibrate:
	CALIBRATE_STUDIOS=$(STUDIOS) $(GO) test -run 'TestIntervalsCover|TestPredictionsOfThePosterior' -count 1 -v -timeout 3h ./internal/fill

openapi:
	$(GO) run ./cmd/pourwright openapi > openapi/openapi.yaml
	$(GO) run ./cmd/pourwright openapi --format 3.0 > openapi/openapi-3.0.yaml

# The starter workbook, which holds the address of a server on this machine.
workbook:
	$(GO) run ./cmd/pourwright workbook > docs/starter-workbook.xlsx

lint:
	@test -z "$$(gofmt -l .)" || { gofmt -l .; exit 1; }
	$(GO) vet ./...
