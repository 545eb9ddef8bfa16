#!/usr/bin/env bash
# Makes the contract's Go code from its .proto files, in place or in a folder.
set -euo pipefail
cd "$(dirname "$0")/../ingest/contract/event"
out=${1:-.}
command -v protoc >/dev/null || { echo "no protoc: apt-get install protobuf-compiler" >&2; exit 1; }
tools=$(mktemp -d)
trap 'rm -rf "$tools"' EXIT
GOBIN="$tools" go install google.golang.org/protobuf/cmd/protoc-gen-go
PATH="$tools:$PATH" protoc --go_out="$out" --go_opt=paths=source_relative ./*.proto
