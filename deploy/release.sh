#!/usr/bin/env bash
# Builds what a release consists of, into a folder:
#   release.sh FOLDER [OS/ARCH…]    default: every system the bay's program runs on
# For each system an archive with the programs, units and docs; for Linux a Debian
# package each of the bay's part and of the hub's (the engine's library with it);
# the modules that stand in the program (go version -m), and checksums of all of it.
set -euo pipefail
out=$(mkdir -p "${1:?name a folder}" && cd "$1" && pwd)
shift
cd "$(dirname "$0")/.."
systems=("$@")
[ ${#systems[@]} -gt 0 ] || systems=(linux/amd64 linux/arm64 windows/amd64 darwin/amd64 darwin/arm64)
nfpm=github.com/goreleaser/nfpm/v2/cmd/nfpm@v2.43.0
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
[ -z "$(git status --porcelain --untracked-files=no)" ] || echo "release: there are changes that no commit holds" >&2
# What this release leaves on disks, later ones have to open.
schema=$(ls processors/hub/store/migrations/*.sql | sed 's|.*/0*||; s|_.*||' | tail -1)
grep -qE "\"schema\": ?$schema\b" testdata/studios/*.json ||
	echo "release: no studio of schema $schema stands in testdata/studios: leave one by its make.sh" >&2
# A tag vX.Y.Z on this commit is the version; between releases it is 0.0.0 with the commit.
version=$(git describe --tags --exact-match --match 'v[0-9]*' 2>/dev/null || echo "v0.0.0-$(git log -1 --format=%cd --date=format:%Y%m%d).$(git rev-parse --short=12 HEAD)")
export CGO_ENABLED=0 VERSION=${version#v}
export SOURCE_DATE_EPOCH=$(git log -1 --format=%ct)

case " ${systems[*]}" in
*" linux/"*) GOFLAGS= GOBIN=$work go install "$nfpm" ;; # once: each look at the modules' proxy may fail
esac

for system in "${systems[@]}"; do
	os=${system%/*} arch=${system#*/} name=fairlead-$VERSION-$os-$arch
	exe=""
	[ "$os" != windows ] || exe=.exe
	tree=$work/$name
	mkdir -p "$tree/bin" "$tree/lib"
	echo "release: $name"
	GOOS=$os GOARCH=$arch go build -trimpath -ldflags '-s -w' -o "$tree/bin/fairlead$exe" ./cmd/fairlead
	cp LICENSE README.md "$tree/"
	cp -r deploy/README.md deploy/CHANGES.md deploy/systemd deploy/runbooks "$tree/"
	rm -f "$tree"/systemd/*.go
	go version -m "$tree/bin/fairlead$exe" | sed 's|^/.*/bin/|bin/|' >"$tree/MODULES.txt"
	if [ "$os" != windows ]; then
		GOOS=$os GOARCH=$arch go build -trimpath -ldflags '-s -w' -o "$tree/bin/fairlead-engine" ./cmd/fairlead-engine
		tar -C "$work" --sort=name --mtime="@$SOURCE_DATE_EPOCH" --owner=0 --group=0 --numeric-owner -cf - "$name" | gzip -n >"$out/$name.tar.gz"
	else
		(cd "$work" && python3 -m zipfile -c "$out/$name.zip" "$name")
	fi
	if [ "$os" = linux ]; then
		library=$(find deploy/engine/node_modules/@chdb -path "*linux-${arch/amd64/x64}*" -name libchdb.so 2>/dev/null | head -1)
		for part in bay hub; do
			if [ "$part" = hub ] && [ -z "$library" ]; then
				echo "release: no engine library for $system here (it comes by npm on that system): no package of the hub" >&2
				continue
			fi
			TREE=$tree ARCH=$arch LIBRARY=$library envsubst '$TREE $ARCH $LIBRARY $VERSION' <"deploy/release/$part.yaml" >"$work/$part.yaml"
			"$work/nfpm" package --config "$work/$part.yaml" --packager deb --target "$out" >/dev/null
		done
	fi
done
(cd "$out" && find . -maxdepth 1 -name 'fairlead*' -printf '%f\n' | sort | xargs sha256sum >SHA256SUMS)
cat "$out/SHA256SUMS"
