#!/usr/bin/env bash
# Format, vet, lint, stale generated code, every system that the bay's program runs on.
set -euo pipefail
cd "$(dirname "$0")/.."

unformatted=$(git ls-files '*.go' | grep -v '\.pb\.go$' | xargs gofmt -l)
[ -z "$unformatted" ] || { printf 'not formatted (gofmt -w):\n%s\n' "$unformatted" >&2; exit 1; }
go vet ./...
if [ -x bin/staticcheck ]; then
	# ST1005: the engine's own messages begin with a capital.
	bin/staticcheck -checks inherit,-ST1005 ./...
else
	echo "check: no bin/staticcheck, so nothing was linted (make setup-test)" >&2
	[ -z "${CI:-}" ]
fi
if command -v protoc >/dev/null; then
	fresh=$(mktemp -d)
	trap 'rm -rf "$fresh"' EXIT
	deploy/generate.sh "$fresh"
	for f in ingest/contract/event/*.pb.go; do
		cmp -s "$f" "$fresh/$(basename "$f")" || { echo "stale: $f (make generate)" >&2; exit 1; }
	done
else
	echo "check: no protoc, so generated code was not compared (apt-get install protobuf-compiler)" >&2
	[ -z "${CI:-}" ]
fi
# The bay's program for the system that differs most; `make cross` builds all six.
GOOS=windows GOARCH=amd64 CGO_ENABLED=0 go build -o /dev/null ./cmd/fairlead || { echo "does not build for windows" >&2; exit 1; }
deploy/vulnerable.sh
