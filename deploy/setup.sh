#!/usr/bin/env bash
# Installs what the project needs and is not there yet.
#   setup.sh run    what runs a studio: Go modules, the engine's library (npm)
#   setup.sh test   and what the tests need besides: Debian packages
set -euo pipefail
cd "$(dirname "$0")/.."

say() { printf 'setup: %s\n' "$*" >&2; }

root() { if [ "$(id -u)" = 0 ]; then "$@"; elif command -v sudo >/dev/null; then sudo "$@"; else say "run as root: $*"; exit 1; fi; }

refreshed=
apt() {
	if ! command -v apt-get >/dev/null; then say "no apt-get here: install by hand: $*"; exit 1; fi
	if [ -z "$refreshed" ]; then root apt-get update -qq; refreshed=1; fi
	say "installing $*"
	DEBIAN_FRONTEND=noninteractive root apt-get install -y -qq --no-install-recommends "$@" >/dev/null
}

# need COMMAND PACKAGE: installs the package where the command is missing.
need() { command -v "$1" >/dev/null || [ -x "/usr/sbin/$1" ] || [ -x "/sbin/$1" ] || apt "$2"; }

command -v go >/dev/null || { say "Go is not installed: https://go.dev/doc/install (1.26 or later)"; exit 1; }
need npm npm

say "Go modules"
go mod download

if [ ! -d deploy/engine/node_modules/@chdb ]; then
	say "the ClickHouse engine's library (180 MB to fetch, 570 MB on disk)"
	(cd deploy/engine && npm ci --no-audit --no-fund --loglevel=error)
fi

if [ "${1:-run}" = test ]; then
	# Chromium without windows looks at pages for a third less processor time; where it can't be had, the whole one.
	command -v chromium-headless-shell >/dev/null || (apt chromium-headless-shell) || need chromium chromium
	need prometheus prometheus
	need amtool prometheus-alertmanager
	need strace strace
	need python3 python3 # the script for analysts
	need mkfs.ext4 e2fsprogs
	need mount mount
	need ip iproute2
	need protoc protobuf-compiler
	need gcc gcc # the race detector
	[ -x bin/staticcheck ] || GOBIN="$PWD/bin" go install honnef.co/go/tools/cmd/staticcheck@v0.8.2
	[ -d deploy/axe/node_modules/axe-core ] || (cd deploy/axe && npm ci --no-audit --no-fund --loglevel=error)
	[ -n "$(find /usr/share/fonts -name '*.ttf' -print -quit 2>/dev/null)" ] || apt fonts-dejavu-core
fi
