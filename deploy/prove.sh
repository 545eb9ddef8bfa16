#!/usr/bin/env bash
# The full campaigns. Results are written below testdata/prove, with the seeds.
set -euo pipefail
cd "$(dirname "$0")/.."
export FAIRLEAD_BIN="$PWD/bin" FAIRLEAD_PROVE=1
mkdir -p testdata/prove
{
	date -u '+%Y-%m-%dT%H:%MZ'
	uname -srm
	grep -m1 'model name' /proc/cpuinfo || true
	nproc
	uptime
} > testdata/prove/machine.txt
make --no-print-directory cross
go test -timeout 24h -count 1 -v "${@:-./...}" | tee testdata/prove/log.txt | grep -E '^(---|ok|FAIL|PASS|\?)' || true
! grep -q '^FAIL' testdata/prove/log.txt
