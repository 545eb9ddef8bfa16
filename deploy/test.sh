#!/usr/bin/env bash
# The tests, within ten minutes on two idle cores. Packages with goroutines run
# under the race detector, and only there: most of their time is the engine's,
# which it does not slow, and a second run would prove the same again. Says what it
# runs, and names the slowest packages at the end.
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
# The console runs both ways: its browsers without the race detector.
browsed=$(grep -E '/dashboards/console$' <<<"$packages" || true)
plain=$(echo "$browsed"; grep -vxFf <(echo "$raced") <<<"$packages" || true)
# nats-server compares its accounts on a reload while their clients come and go,
# which is a race of its own: tests that change keys of a running broker run without.
keys='TestAKeyMadeLaterIsTaken|TestRevocationGoesOnBesideFilesThatMeanNothing|TestRotationWithoutARestart|TestAStolenCredential'
[ -z "$plain" ] || run go test -vet=off -timeout 14m $plain
if [ -n "$raced" ]; then
	keyed=$(echo "$raced" | grep -E '/(stream|process)$' || true)
	[ -z "$keyed" ] || run go test -vet=off -timeout 14m -run "^($keys)" $keyed
	# The longest is named first and waits more than it works: three at a time.
	CGO_ENABLED=1 run go test -vet=off -race -p 3 -timeout 14m -skip "$keys" $raced
fi
echo "test: the slowest packages, in seconds:"
awk '$1 == "ok" && $3 ~ /s$/ { sub("s$", "", $3); print $3, $2 }' "$log" | sort -rn | head -8
echo "test: all passed in $SECONDS s"
