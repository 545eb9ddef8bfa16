#!/usr/bin/env bash
# The tests, within ten minutes on two idle cores. Packages with goroutines run
# under the race detector, and only there but for the tests of unraced.txt: a second
# run would prove the same again. What is raced and what is not run side by side, for
# most tests wait more than they work. Says what it runs, and names the slowest
# packages at the end.
#   test.sh             all
#   test.sh ROOM…       the packages whose folder is named so, or lies below: visit,
#                       hub/sink, ingest, cmd/fairlead
set -euo pipefail
cd "$(dirname "$0")/.."
export FAIRLEAD_BIN="$PWD/bin"
if [ "$(uname)" = Linux ] && [ "$(id -u)" = 0 ]; then
	export FAIRLEAD_REQUIRE_ROOT_TESTS=1
else
	echo "test: NOT LINUX AS ROOT: the power-cut tests are left out" >&2
	[ -z "${CI:-}" ] || exit 1
fi

# in_room keeps the packages of the wanted rooms; all of them without one.
rooms=("$@")
in_room() {
	[ ${#rooms[@]} -gt 0 ] || { cat; return; }
	local p r
	while read -r p; do
		for r in "${rooms[@]}"; do
			case "/$p/" in */"${r%/}"/*) echo "$p"; break ;; esac
		done
	done
}

packages=$(go list ./... | in_room)
[ -n "$packages" ] || { echo "test: no room is named ${rooms[*]}: take a folder's name, as visit, hub/sink or ingest" >&2; exit 2; }
log=$(mktemp)
trap 'rm -f "$log"' EXIT
run() {
	echo "test: $*" | tr '\n' ' ' | cut -c1-160
	"$@" | tee -a "$log"
}
raced=$(go list $(cat deploy/race.txt) | in_room)
# What of them runs without the detector, and why, says unraced.txt. The console is
# named in both: its browsers are tried without, what else it does both ways.
browsed=$(grep -E '/dashboards/console$' <<<"$packages" || true)
plain=$(echo "$browsed"; grep -vxFf <(echo "$raced") <<<"$packages" || true)
listed() { grep -v '^#' deploy/unraced.txt | awk "$1"; }
unraced=$(listed '{print $2}' | paste -sd'|')
holders=$(go list $(listed '{print $1}' | sort -ru) | grep -xFf <(echo "$raced") | grep -vxF "${browsed:-none}" || true)
# In each of the two lanes two packages at a time, the longest first. A lane that
# fails lets the other come to its end: one run says all that is wrong.
unraced_lane() { [ -z "$plain" ] || run go test -vet=off -p 2 -timeout 20m $plain; }
raced_lane() {
	local failed=0
	[ -z "$holders" ] || run go test -vet=off -p 2 -timeout 20m -run "^($unraced)$" $holders || failed=1
	[ -z "$raced" ] || CGO_ENABLED=1 run go test -vet=off -race -p 2 -timeout 20m -skip "^($unraced)$" $raced || failed=1
	return $failed
}
failed=0
set -m # a process group of its own, so that it ends with this script
raced_lane &
lane=$!
set +m
trap 'kill -- "-$lane" 2>/dev/null; exit 130' INT TERM
unraced_lane || failed=1
wait "$lane" || failed=1
echo "test: the slowest packages, in seconds:"
awk '$1 == "ok" && $3 ~ /s$/ { sub("s$", "", $3); print $3, $2 }' "$log" | sort -rn | head -8
[ $failed = 0 ] || { echo "test: FAILED after $SECONDS s" >&2; exit 1; }
echo "test: all passed in $SECONDS s"
