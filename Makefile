# Bayhold: build, run and test. `make` alone lists the targets.
#
# Needs Go, make and git. The server embeds the phone's core and the app in the
# form that travels, so everything stands on pwa/app/core.wasm and pwa/packed,
# which are built and not committed.

GO    ?= go
CORE  := pwa/app/core.wasm
APP   := pwa/packed/SHA256SUMS
BUILD := -trimpath -buildvcs=false -ldflags="-s -w"

# Go sources of the core: what cmd/phonecore can reach, tests left out.
CORE_SOURCES := go.mod go.sum $(shell find cmd/phonecore checklist sync -name '*.go' ! -name '*_test.go')

# Go's wildcard passes over folders named testdata, so the generators in there
# are named; browser tests are those called TestBrowser..., wherever they are.
PACKAGES := ./... $(addprefix ./,$(patsubst %/,%,$(sort $(dir $(shell find testdata -name '*.go')))))
BROWSER  := $(addprefix ./,$(sort $(dir $(shell grep -rl --include='*_test.go' '^func TestBrowser' server pwa cmd))))

# The race detector needs a C compiler; without one the tests run all the same.
RACE := $(if $(filter 1,$(shell $(GO) env CGO_ENABLED)),-race)

# Public programs that tests ask beside a browser, installed where that may be;
# a test fails without one that is not named here.
WITHOUT = BAYHOLD_WITHOUT='$(shell .ci/tools)'

.PHONY: help run build core test check vuln unit browser chromium bench peers long screenshots release clean

help:
	@echo 'make run          builds everything and serves the demo shop at http://localhost:8080'
	@echo 'make test         runs every test, those in a real browser included'
	@echo 'make check        go vet and gofmt'
	@echo 'make vuln         known vulnerabilities in what this is built of'
	@echo 'make unit         the tests that need no browser'
	@echo 'make browser      the tests in a real browser'
	@echo 'make bench        prints the budget table'
	@echo 'make peers        measures beside general-purpose sync stacks'
	@echo 'make long         long property tests and fuzzing'
	@echo 'make screenshots  pictures of every screen in build/screenshots'
	@echo 'make release      the program for every machine it runs on, in build/release'

run: build
	bin/bayhold serve --demo --addr localhost:8080

core: $(CORE) $(APP)

# Without inlining the compressed core is a tenth smaller; where lines are read
# and hashed it stays on, for it costs nothing there and halves the time; in the
# collector's tables it makes the core shorter.
# packcore takes off another fifth and compresses.
CORE_INLINE := -gcflags=all=-l $(foreach p,bayhold/sync/cbor bayhold/sync/logbook bayhold/sync/sha256 internal/runtime/atomic internal/runtime/gc,-gcflags=$(p)=)
$(CORE): $(CORE_SOURCES) $(wildcard cmd/packcore/*.go)
	GOOS=wasip1 GOARCH=wasm $(GO) build -buildmode=c-shared $(CORE_INLINE) $(BUILD) -o build/core.wasm ./cmd/phonecore
	$(GO) run ./cmd/packcore build/core.wasm
	mv build/core.wasm.br $@.br
	mv build/core.wasm $@

# Comments and long names stay here; phones get the app without them.
$(APP): $(shell find pwa/app -name '*.js' -o -name '*.css' -o -name '*.html') $(wildcard cmd/packapp/*.go)
	$(GO) run ./cmd/packapp pwa/app $(@D)

build: $(CORE) $(APP)
	$(GO) build $(BUILD) -o bin/bayhold ./cmd/bayhold

test: check unit browser

check: $(CORE) $(APP)
	$(GO) vet $(PACKAGES)
	@offenders=$$(find . -name '*.go' -not -path './build/*' -exec "$$($(GO) env GOROOT)/bin/gofmt" -l {} +); \
	if [ -n "$$offenders" ]; then echo "not in gofmt's form; run gofmt -w on:"; echo "$$offenders"; exit 1; fi
	@echo 'go vet and gofmt: clean'
	GOOS=windows CGO_ENABLED=0 $(GO) build -o /dev/null ./cmd/bayhold # the one with files of its own

# Apart from check: it asks a database in the internet, and says so if there is none.
vuln: $(CORE) $(APP)
	@GO='$(GO)' .ci/vuln

# What takes one goroutine minutes under the race detector has nothing to race
# with and runs without it: compressing the core for its size, the compiled core,
# the schedules of the simulation of both ends, each alone in its world.
unit: $(CORE) $(APP)
	$(WITHOUT) $(GO) test $(RACE) -timeout 15m -skip '^(TestBrowser|TestFirstVisit|TestPackedRunsTheSame|TestCompiledAnswersAsNative|TestSimulation$$)' $(PACKAGES)
	$(GO) test -run '^(TestFirstVisit|TestPackedRunsTheSame|TestCompiledAnswersAsNative)' ./pwa ./cmd/packcore ./cmd/phonecore
	GOGC=400 $(GO) test -run '^TestSimulation$$' -timeout 15m ./sync/session -schedules 2000

# One package after the other: a browser takes both cores of a small machine.
# Never from the cache: these tests run the built program, which it cannot see.
browser: $(CORE) $(APP) chromium
	$(WITHOUT) $(GO) test -count 1 -p 1 -timeout 25m -run '^TestBrowser' $(BROWSER)

chromium:
	@.ci/chromium

# PEERS=DIR is the harness of general-purpose sync stacks to measure beside; it
# needs Node and Python.
PEERS  ?=
ROUNDS ?= 3
bench: $(CORE) $(APP)
	$(GO) run ./cmd/budget $(if $(PEERS),-peers $(PEERS))

peers: $(CORE) $(APP)
	$(GO) run ./cmd/budget -beside -rounds $(ROUNDS) -peers '$(or $(PEERS),$(wildcard ../shared/peers))'

# Property tests with many more cases, then every fuzz target in turn. Up to
# Go 1.26 a run may end at its time with 'context deadline exceeded' and no
# failing input (golang/go issue 75804): that is no failure.
LONG_RUN ?= 60s
long: $(CORE) $(APP)
	BAYHOLD_LONG=1 $(WITHOUT) $(GO) test $(RACE) -timeout 60m -skip '^(TestBrowser|TestSimulation$$)' $(PACKAGES)
	BAYHOLD_LONG=1 GOGC=400 $(GO) test -run '^TestSimulation$$' -timeout 180m ./sync/session -schedules 100000
	@grep -rno --include='*_test.go' '^func Fuzz[A-Za-z0-9_]*' checklist cmd pwa server sync testdata | \
	sed 's/^\(.*\)\/[^/]*:[0-9]*:func /.\/\1 /' | sort -u | while read -r package fuzz; do \
		echo "$$package $$fuzz"; \
		out=$$($(GO) test -run '^$$' -fuzz "^$$fuzz\$$" -fuzztime $(LONG_RUN) "$$package" 2>&1); failed=$$?; \
		echo "$$out"; \
		case "$$failed $$out" in \
		0*) ;; \
		*'Failing input'*) exit 1 ;; \
		*'context deadline exceeded'*) ;; \
		*) exit 1 ;; \
		esac; \
	done

screenshots: $(CORE) $(APP) chromium
	mkdir -p build/screenshots
	BAYHOLD_SCREENSHOTS='$(CURDIR)/build/screenshots' $(GO) test -count 1 -p 1 -timeout 30m -run '^TestBrowser(EveryScreen|Screens)$$' ./pwa ./server/e2e
	@echo 'pictures in build/screenshots'

# No C compiler is asked for: the program stands alone.
RELEASES := linux/amd64 linux/arm64 windows/amd64 darwin/amd64 darwin/arm64
release: $(CORE) $(APP)
	rm -rf build/release && mkdir -p build/release
	@set -e; for t in $(RELEASES); do \
		out=build/release/bayhold-$${t%/*}-$${t#*/}; \
		case $$t in windows/*) out=$$out.exe ;; esac; \
		echo "$$out"; \
		CGO_ENABLED=0 GOOS=$${t%/*} GOARCH=$${t#*/} $(GO) build $(BUILD) -o "$$out" ./cmd/bayhold; \
	done
	cd build/release && sha256sum bayhold-* > SHA256SUMS

clean:
	rm -rf bin build $(CORE) $(CORE).br pwa/packed/*
