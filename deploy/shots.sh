#!/usr/bin/env bash
# Pictures of every page at 390, 1024 and 1920 px, of a demo studio that has run
# for a while, and those of the README's walk: shots.sh [FOLDER] [SECONDS]
set -euo pipefail
cd "$(dirname "$0")/.."
folder=$(realpath -m "${1:-${TMPDIR:-/tmp}/fairlead-shots}")
studio=$(mktemp -d)
bin/fairlead up --demo --dir "$studio" >"$studio/said" 2>&1 &
demo=$!
trap 'kill -INT $demo 2>/dev/null; wait $demo 2>/dev/null || true; rm -rf "$studio"' EXIT
address=
for _ in $(seq 120); do
	address=$(grep -om1 'http://[0-9.:]*' "$studio/said" || true)
	[ -n "$address" ] && break
	kill -0 $demo || { cat "$studio/said" >&2; exit 1; }
	sleep 1
done
[ -n "$address" ] || { echo "shots: the demo did not start" >&2; cat "$studio/said" >&2; exit 1; }
echo "shots: the demo hits balls for ${2:-70} s" >&2
sleep "${2:-70}"
FAIRLEAD_WALK="$PWD/dashboards/console/walk" FAIRLEAD_SHOTS_URL="$address" go test ./dashboards/console -run '^TestWalk$' -count=1
FAIRLEAD_SHOTS="$folder" FAIRLEAD_SHOTS_URL="$address" go test ./dashboards/console -run '^TestShots$' -count=1 -timeout 20m
echo "shots: $(find "$folder" -name '*.png' | wc -l) pictures in $folder"
