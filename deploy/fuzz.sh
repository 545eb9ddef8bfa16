#!/usr/bin/env bash
# Runs every fuzz target for the given time.
set -euo pipefail
cd "$(dirname "$0")/.."
for dir in $(grep -rl --include='*_test.go' '^func Fuzz' . | xargs -n1 dirname | sort -u); do
	for target in $(grep -h '^func Fuzz' "$dir"/*_test.go | sed 's/^func \(Fuzz[A-Za-z0-9_]*\).*/\1/'); do
		echo "== $dir $target"
		go test -run '^$' -fuzz "^$target\$" -fuzztime "${1:-30s}" "$dir"
	done
done
