#!/usr/bin/env bash
# The tests, within a quarter of an hour on two idle cores. Packages with goroutines run
# under the race detector, and only there but for the tests of unraced.txt: a second
# run would prove the same again. Says what it runs, and names the slowest packages
# at the end.
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
# Pieces of about equal length, the longest first, taken by two workers, each one
# package at a time: more side by side is slower on two cores, for what waits asks
# again and again, and nearer to where patience ends. A piece that fails lets the
# others come to their end: one run says all that is wrong.
plain_of() { grep -x "fairlead/$1" <<<"$plain" || true; }
unraced_of() { [ -z "$1" ] || run go test -vet=off -p 1 -timeout 20m $1; }
raced_of() { [ -z "$1" ] || CGO_ENABLED=1 run go test -vet=off -race -p 1 -timeout 20m -skip "^($unraced)$" $1; }
others=$(grep -vxE 'fairlead/(cmd/fairlead|dashboards/console)' <<<"$plain" || true)
long='hub/sink|ask/answers|dashboards/console'
piece_holders() { [ -z "$holders" ] || run go test -vet=off -p 1 -timeout 20m -run "^($unraced)$" $holders; }
# The command's tests are two pieces: studios that are hurt while they run, and the rest.
hurt='^(TestFaultsOfAStudioAreNamed|TestPowerCutOfAWholeStudio|TestKillCampaign|TestGarbageOnEachPortStopsNothing)$'
program_of() { [ -z "$(plain_of cmd/fairlead)" ] || run go test -vet=off -p 1 -timeout 20m "$1" "$hurt" fairlead/cmd/fairlead; }
piece_hurt() { program_of -run; }
piece_program() { program_of -skip; }
piece_drawn() { unraced_of "$(grep -E '/(dashboards|deploy)/' <<<"$others" || true)"; }
piece_pure() { unraced_of "$(grep -vE '/(dashboards|deploy)/' <<<"$others" || true)"; }
piece_browsers() { unraced_of "$(plain_of dashboards/console)"; }
piece_hub() { raced_of "$(grep -E '/hub/process$' <<<"$raced" || true)"; }
piece_raced() { raced_of "$(grep -E "/($long)" <<<"$raced" || true)"; }
piece_log() { raced_of "$(grep -vE "/(hub/process|$long)" <<<"$raced" || true)"; }
pieces=(holders hurt hub program log drawn raced browsers pure)
taken=$(mktemp -d)
trap 'rm -rf "$log" "$taken"' EXIT
worker() {
	local failed=0 p
	for p in "${pieces[@]}"; do
		mkdir "$taken/$p" 2>/dev/null || continue
		"piece_$p" || failed=1
	done
	return $failed
}
failed=0
set -m # a process group of its own, so that it ends with this script
worker &
beside=$!
set +m
trap 'kill -- "-$beside" 2>/dev/null; exit 130' INT TERM
worker || failed=1
wait "$beside" || failed=1
echo "test: the slowest packages, in seconds:"
awk '$1 == "ok" && $3 ~ /s$/ { sub("s$", "", $3); print $3, $2 }' "$log" | sort -rn | head -8
[ $failed = 0 ] || { echo "test: FAILED after $SECONDS s" >&2; exit 1; }
echo "test: all passed in $SECONDS s"
