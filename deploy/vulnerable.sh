#!/usr/bin/env bash
# Looks for known vulnerabilities that the program reaches, where their database
# can be read: GOVULNDB (an address, or file:///FOLDER of a copy), else the public
# one. Without it, it says so and costs nothing.
#   A module with one fails: take the version that mends it. What is found in the
#   standard library is the machine's Go, not this source: it is said, and mended
#   by a later Go.
set -euo pipefail
cd "$(dirname "$0")/.."

db=${GOVULNDB:-https://vuln.go.dev}
case $db in
file://*) reached() { [ -r "${db#file://}/index/db.json" ]; } ;;
*) reached() { command -v curl >/dev/null && curl -fsS --max-time 5 -o /dev/null "$db/index/db.json" 2>/dev/null; } ;;
esac
if ! reached; then
	echo "check: the database of vulnerabilities at $db can't be reached, so they were not looked for (GOVULNDB names a copy)" >&2
	exit 0
fi
found=$(mktemp)
trap 'rm -f "$found"' EXIT
status=0
go run golang.org/x/vuln/cmd/govulncheck@v1.9.0 -db "$db" ./... >"$found" 2>&1 || status=$?
case $status in
0) exit 0 ;;
3) ;; # something was found
*) # the tool itself did not get on: it is no answer about the source
	sed -n '1,20p' "$found" >&2
	echo "check: vulnerabilities were not looked for, the tool above failed" >&2
	exit 0 ;;
esac
grep -E '^(Vulnerability|    Found in:|    Fixed in:|  Module:|  Standard library)' "$found" >&2 || true
if grep -q '^  Module:' "$found"; then
	echo "check: modules with known vulnerabilities that the program reaches: go get the versions named above" >&2
	exit 1
fi
echo "check: only the standard library of this machine's Go has some: build with the Go named above" >&2
