#!/usr/bin/env bash
# Runs the benchmarks, each with its raw baseline in the same run, and records
# them with the machine. Quote a ratio from here, never a bare number.
#   bench.sh            all
#   bench.sh PACKAGE…   those only, to standard output
set -euo pipefail
cd "$(dirname "$0")/.."
export FAIRLEAD_BIN="$PWD/bin"

run() { go test -run '^$' -bench "${BENCH:-.}" -benchtime "${BENCHTIME:-3x}" -timeout 60m "$@" | grep -E '^(Benchmark|pkg:|cpu:)' || true; }

if [ $# -gt 0 ]; then run "$@"; exit; fi

mkdir -p testdata/bench
out=testdata/bench/results.txt
{
	echo "# make bench, $(date -u '+%Y-%m-%d %H:%MZ'), $(git rev-parse --short HEAD)"
	echo "# $(uname -srm), $(nproc) cores, $(awk '/MemTotal/ {printf "%.0f GiB", $2/1048576}' /proc/meminfo), load $(cut -d' ' -f1-3 /proc/loadavg)"
	echo "# ratio-to-raw: the raw part's time over ours; goals: journal 0.8 (10 with 64 writers), publish 0.8,"
	echo "# identities and TLS 0.9, consume and tag 0.6, sink 0.8, end to end 0.6, fleet rows 0.7"
	for p in ./ingest/log/journal ./ingest/log/stream ./ingest/bay/feed ./processors/hub/sink ./deploy/engine/serve ./processors/sim ./processors/hub/store ./processors/ask/answers; do run "$p"; done
	# The log that could have been used instead, a module of its own.
	(cd ingest/log/journal/raftwal && BENCHTIME=1x run .)
	BENCHTIME=2s run ./processors/golf/flight
	for rate in 0.7 20; do
		echo "# live latency, $rate hits a second in each of four bays: from a line's writing to its shot on the live feed"
		bin/fairlead up --demo --for 30s --json --quiet --rate "$rate" 2>/dev/null | tail -n 1 |
			grep -oE '"(p50_live_ms|p99_live_ms|shown|stored|missing|duplicate|mistagged)":[0-9.]+' | tr '\n' ' '
		echo
	done
	echo "# to the painted pixel, 0.7 hits a second in each of four bays: from a line's writing to its shot painted by a browser on the bay's page"
	studio=$(mktemp -d)
	bin/fairlead up --demo --dir "$studio" --for 75s --quiet --rate 0.7 >"$studio/said" 2>&1 &
	demo=$!
	for _ in $(seq 60); do grep -q 'http://[0-9.:]*' "$studio/said" && break; sleep 1; done
	FAIRLEAD_PAINTED="$studio" FAIRLEAD_PAINTED_URL="$(grep -om1 'http://[0-9.:]*' "$studio/said")" \
		go test ./dashboards/console -run '^TestPainted$' -count=1 -v | grep -oE '"[a-z0-9_]+":[0-9.]+' | tr '\n' ' ' || true
	echo
	wait $demo || true
	rm -rf "$studio"
	echo "# load after: $(cut -d' ' -f1-3 /proc/loadavg)"
} | tee "$out"
