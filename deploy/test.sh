#!/usr/bin/env bash
# The tests, within a quarter of an hour on two cores. Packages with
# goroutines also run under the race detector, with reduced seeds.
set -euo pipefail
cd "$(dirname "$0")/.."
export FAIRLEAD_BIN="$PWD/bin"
if [ "$(uname)" = Linux ] && [ "$(id -u)" = 0 ]; then
	export FAIRLEAD_REQUIRE_ROOT_TESTS=1
else
	echo "test: NOT LINUX AS ROOT: the power-cut tests are left out" >&2
	[ -z "${CI:-}" ] || exit 1
fi
go test -timeout 14m ./...
CGO_ENABLED=1 go test -race -short -timeout 10m $(cat deploy/race.txt)
