# Everything that is run by hand or by CI. `make demo` and `make test` install
# what they need; see deploy/setup.sh for what that is.

GO      ?= go
FLAGS   := -trimpath -ldflags '-s -w'
SHELL   := /bin/bash
export CGO_ENABLED ?= 0
# Build, vet and tests share what they compile.
export GOFLAGS ?= -trimpath

.PHONY: setup setup-test build demo shots smoke test check prove bench fuzz generate cross release clean

# The Go modules and the engine's library.
setup:
	deploy/setup.sh run

# And what only the tests need: Chromium, Prometheus, strace, file system tools.
setup-test:
	deploy/setup.sh test

build:
	$(GO) build $(FLAGS) -o bin/fairlead ./cmd/fairlead
	$(GO) build $(FLAGS) -o bin/fairlead-engine ./cmd/fairlead-engine

demo: setup build
	bin/fairlead up --demo

# Pictures of every page at three widths, from the demo, into SHOTS (outside git).
SHOTS ?= $(if $(TMPDIR),$(TMPDIR),/tmp)/fairlead-shots
shots: setup-test build
	deploy/shots.sh $(SHOTS)

# Thirty seconds of the demo, checked from the devices' files to the store.
smoke: setup build
	bin/fairlead up --demo --for 30s --json

# All tests, or those of some rooms: make test ROOM=visit, make test ROOM="hub/sink ingest".
test: setup-test build check
	deploy/test.sh $(ROOM)

check:
	deploy/check.sh

# The full campaigns: hours, not minutes. Seeds and results go to testdata/prove.
prove: setup-test build
	deploy/prove.sh

bench: setup build
	deploy/bench.sh

# Each fuzz target for FUZZTIME.
FUZZTIME ?= 30s
fuzz:
	deploy/fuzz.sh $(FUZZTIME)

# The contract's Go code from its .proto files.
generate:
	deploy/generate.sh

# The bay's program for every system it runs on.
cross:
	for os in linux windows darwin; do for arch in amd64 arm64; do \
		echo "$$os/$$arch"; GOOS=$$os GOARCH=$$arch $(GO) build $(FLAGS) -o /dev/null ./cmd/fairlead || exit 1; \
	done; done

# Archives, Debian packages and checksums of a release, into RELEASE (outside git).
# SYSTEMS="linux/amd64 windows/amd64" builds those only.
RELEASE ?= $(if $(TMPDIR),$(TMPDIR),/tmp)/fairlead-release
release: setup
	deploy/release.sh $(RELEASE) $(SYSTEMS)

clean:
	rm -rf bin fairlead-demo
