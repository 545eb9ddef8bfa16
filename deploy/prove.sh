#!/usr/bin/env bash
# The full campaigns, of all packages or of those named. What each found stands
# below testdata/prove, with the seeds: a file a campaign, and results.txt with
# the machine, the tests that passed and what they said.
set -euo pipefail
cd "$(dirname "$0")/.."
export FAIRLEAD_BIN="$PWD/bin" FAIRLEAD_PROVE=1
mkdir -p testdata/prove
log=$(mktemp)
trap 'rm -f "$log"' EXIT
results=testdata/prove/results.txt
{
	date -u '+%Y-%m-%dT%H:%MZ'
	uname -srm
	grep -m1 'model name' /proc/cpuinfo || true
	nproc
	uptime
	echo "commit $(git rev-parse --short HEAD); ${*:-./...}"
	echo
} > "$results"
make --no-print-directory cross
kept=$(mktemp -d) # what campaigns keep of their longest waits
echo "campaigns keep what they saw below $kept" >&2
go test -timeout 24h -count 1 -artifacts -outputdir "$kept" -v "${@:-./...}" | tee "$log" | grep -E '^(--- |ok|FAIL|PASS)' || true
if [ $# -eq 0 ]; then
	# What make test leaves to the run without the race detector for its time.
	names=$(awk '$3 == "slow" || $3 == "computes" { print $2 }' deploy/unraced.txt | paste -sd'|')
	FAIRLEAD_PROVE= CGO_ENABLED=1 go test -race -timeout 4h -count 1 -v -p 1 -run "^($names)$" \
		$(awk '$3 == "slow" || $3 == "computes" { print $1 }' deploy/unraced.txt | sort -u) |
		tee -a "$log" | grep -E '^(--- |ok|FAIL|PASS)' || true
fi
# What the tests of the rooms that decide what is kept and said would notice. Not
# part of a run for named packages.
mutated=0
if [ $# -eq 0 ]; then
	go run ./deploy/mutate -n "${MUTATIONS:-60}" -seed "${MUTATION_SEED:-$RANDOM}" -out testdata/prove/mutation.json \
		processors/visit/tag processors/visit processors/golf/evidence ingest/log/journal | tee -a "$log" || mutated=1
fi
grep -E '^(--- |ok|FAIL|panic)|^ +[a-z_]+_test\.go:[0-9]+:' "$log" | cut -c1-240 >> "$results"
if grep -qE '^(FAIL|panic)' "$log"; then
	# What the processes said is not recorded above, and is what one wants to read now.
	cp "$log" prove-failed.log
	echo "failed: all that was said is in prove-failed.log" >&2
	exit 1
fi
[ "$mutated" = 0 ] || { echo "failed: too many changes of the source go unnoticed (testdata/prove/mutation.json)" >&2; exit 1; }
