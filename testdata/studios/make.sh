#!/usr/bin/env bash
# Makes the data of a studio as a release leaves them, for every later one to open:
#   testdata/studios/make.sh bin NAME
# runs the programs of the folder bin and writes testdata/studios/NAME.tar.gz and
# NAME.json, what is in there. It is run once a release and never again: the newest is
# made by the release's own programs, those of before stay as they are.
#
# Bay north: a visit with a verdict and an order, closed. South: a visit whose player was
# erased, then an open one. Pier, whose PC lost the hub at the end: shots that stand in
# its journal only. All of it is invented.
set -euo pipefail
if [ -z "${APART:-}" ]; then # a machine of another name, so that nothing names this one
	own=(--uts)
	[ "$(id -u)" = 0 ] || own+=(--map-root-user)
	APART=1 exec unshare "${own[@]}" "$0" "$@"
fi
hostname hub
bin=$(cd "$1" && pwd)
out=$(cd "$(dirname "$0")" && pwd)/$2
work=$(mktemp -d)
up=
trap '[ -z "$up" ] || kill "$up" 2>/dev/null; wait; rm -rf "$work"' EXIT
cd "$work"
mkdir studio
cd studio
mkdir device
cat > studio.yaml <<'END'
studio: harbour-row
data: var
broker: {listen: "127.0.0.1:14222"}
store: {listen: "127.0.0.1:18123"}
console: {listen: "127.0.0.1:18080", open: true, erase_after: 0s}
metrics: {listen: "127.0.0.1:0"}
bays:
  - {name: north, feeds: [{name: willow, map: willow.yaml, tail: device/north.csv}]}
  - {name: south, feeds: [{name: willow, map: willow.yaml, tail: device/south.csv}]}
  - {name: pier, feeds: [{name: willow, map: willow.yaml, tail: device/pier.csv}]}
END
cat > willow.yaml <<'END'
map: 1
device: willow
role: ball
format: csv
shot_id: {columns: [No]}
fields:
  ball_speed: {column: Ball, unit: mph}
  carry: {column: Carry, unit: yd}
  offline: {column: Offline, unit: yd}
END
n=0
# hit BAY SHOTS CARRY: the device writes that many lines.
hit() {
	for i in $(seq "$2"); do
		n=$((n + 1))
		echo "$n,$((100 + n % 7)).$((n % 10)),$(($3 + n * 7 % 9)).$((n * 3 % 10)),$((n * 5 % 13 - 6)).$((n % 10))" >> "device/$1.csv"
	done
}
for b in north south pier; do echo "No,Ball,Carry,Offline" > "device/$b.csv"; done
f() { "$bin/fairlead" "$@" --config studio.yaml; }
sql() {
	curl -sSf -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" 'http://127.0.0.1:18123/?database=fairlead' --data-binary "$1"
}
# stored ROWS: waits until that many entries are.
stored() {
	for _ in $(seq 300); do
		[ "$(sql 'SELECT count() FROM entries FINAL')" != "$1" ] || return 0
		sleep 0.2
	done
	echo "$1 entries were not stored" >&2
	return 1
}
player() {
	curl -sSf http://127.0.0.1:18080/api/people -H 'Content-Type: application/json' \
		-d "{\"role\":\"player\",\"name\":\"$1\",\"hand\":\"right\"}" | sed -E 's/.*"id": ?"([^"]+)".*/\1/'
}
event() { sed -E 's/.*"id": ?"([^"]+)".*/\1/'; }

"$bin/fairlead" up --config studio.yaml > ../up.log 2>&1 < /dev/null &
up=$!
for _ in $(seq 300); do curl -sf http://127.0.0.1:18080/healthz > /dev/null && break; sleep 0.2; done

fitted=$(player 'Adalbert Undine')
visit() { f visit "$@" > /dev/null; }
visit open --bay north --player "$fitted" --fitter f-1 --hand right --category iron --consent --aim 'softer landing into the ninth'
visit trial --bay north --trial t-own --gamer --name 'own 7' --set loft=32deg --set lie=61deg --set length=37in --set swing_weight=D2
hit north 6 150; stored 6
visit trial --bay north --trial t-weak --set loft=34deg
hit north 6 146; stored 12
verdict=$(f visit verdict --bay north build --trial t-weak --baseline t-own --json | event)
visit order --bay north "$verdict" '6-8i' --unhit --promised 2027-03-01
visit close --bay north

forgotten=$(player 'Quillon Forgotten')
visit open --bay south --player "$forgotten" --fitter f-1 --hand right --category wedge
visit trial --bay south --trial t-gone --gamer --name 'forgotten wedge'
hit south 4 80; stored 16
visit close --bay south
f erase "$forgotten" --yes > /dev/null
stays=$(player 'Ottilie Marram')
visit open --bay south --player "$stays" --fitter f-1 --hand left --category driver
visit trial --bay south --trial t-open --gamer --name 'own driver' --set loft=10deg
hit south 4 200; stored 20

f audit > /dev/null
kill "$up"; wait "$up" 2>/dev/null || true
up=
# The hub is away: what pier hits waits in its journal.
hit pier 3 120
"$bin/fairlead" collect --config studio.yaml --bay pier > ../pier.log 2>&1 &
up=$!
last=$(tail -1 device/pier.csv)
for i in $(seq 300); do grep -rqF "$last" var/journals/pier && break; sleep 0.2; [ "$i" -lt 300 ]; done
kill "$up"; wait "$up" 2>/dev/null || true
up=
cd ..
"$bin/fairlead" version --json > version.json
cp version.json "$out.json"
tar --sort=name --mtime=2026-01-01 --owner=0 --group=0 --numeric-owner -cf - studio | gzip -9n > "$out.tar.gz"
ls -l "$out.tar.gz"
