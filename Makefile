# make test is the whole check, the same here and in CI. CONTRIBUTING.md says
# what it needs and what it leaves out where that is missing.

# go.mod says Go 1.26, so that go run works with it. We build and test with a
# version whose standard library has no known vulnerability that we can reach:
# ADR 0009.
export GOTOOLCHAIN := go1.27.3

# Where goroutines share something. What app and web share is the same on both
# databases: the race detector sees them on SQLite alone (onBoth).
SHARING := ./internal/store/... ./internal/app ./internal/web

.PHONY: test quick build fmt format vet vuln go-test race fuzz bench crosscheck html

test: format vet vuln go-test race fuzz

# Without PostgreSQL, browser, race detector, fuzzing and what is cached.
quick: format
	go vet ./...
	go test -short ./...

build:
	CGO_ENABLED=0 go build -trimpath -ldflags='-s -w' -o pinset ./cmd/pinset

fmt:
	go tool gofumpt -l -w .

format:
	@wrong=$$(go tool gofumpt -l .) || exit 1; \
	if [ -n "$$wrong" ]; then echo "run make fmt, it changes: $$wrong"; exit 1; fi

vet:
	go vet ./...
	go tool staticcheck ./...

vuln:
	test/vuln.sh

go-test:
	test/with-chromium.sh test/with-readers.sh test/with-postgres.sh go test -count=1 -timeout=15m ./...

race:
	test/race.sh -skip='/postgres$$|//postgres$$' $(SHARING)

fuzz:
	test/fuzz.sh

bench:
	go test -run='^$$' -bench=. -benchmem -timeout=30m ./...

# Asks R and SciPy again for the answers that the tests compare with.
crosscheck:
	test/crosscheck.sh

# Has an independent checker read the HTML of every page.
html:
	test/html.sh
