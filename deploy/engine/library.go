package engine

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
)

// LibraryEnv names the environment variable with the path of the engine's library.
const LibraryEnv = "FAIRLEAD_ENGINE_LIB"

// InstallCommand gets the library, from the root of the project.
const InstallCommand = "(cd deploy/engine && npm ci)"

// ErrNoLibrary says that the engine's library is not on this machine.
var ErrNoLibrary = errors.New("the ClickHouse engine's library (libchdb) is not here")

// packages are the npm packages with the library, by GOOS/GOARCH; deploy/engine/package.json names them.
var packages = map[string]string{
	"linux/amd64":  "lib-linux-x64-gnu",
	"linux/arm64":  "lib-linux-arm64-gnu",
	"darwin/amd64": "lib-darwin-x64",
	"darwin/arm64": "lib-darwin-arm64",
}

// FindLibrary returns the absolute path of the engine's library: the one that FAIRLEAD_ENGINE_LIB names,
// which then has to exist; or one beside the program or in lib beside its folder; or what npm put into deploy/engine/node_modules of the
// program's or the working directory, or of a directory above. The error wraps ErrNoLibrary and tells what
// to run.
func FindLibrary() (string, error) {
	if p := os.Getenv(LibraryEnv); p != "" {
		if !isFile(p) {
			return "", fmt.Errorf("%w: %s names %s, which is no file", ErrNoLibrary, LibraryEnv, p)
		}
		return filepath.Abs(p)
	}
	pkg, ok := packages[runtime.GOOS+"/"+runtime.GOARCH]
	if !ok {
		return "", fmt.Errorf("%w: there is none for %s/%s; use a ClickHouse server by its DSN (deploy/clickhouse)",
			ErrNoLibrary, runtime.GOOS, runtime.GOARCH)
	}
	for _, dir := range starts() {
		for _, name := range []string{"libchdb.so", "libchdb.dylib"} {
			for _, p := range []string{filepath.Join(dir, name), filepath.Join(dir, "..", "lib", name)} { // as the packages install it
				if isFile(p) {
					return p, nil
				}
			}
			for up := dir; ; up = filepath.Dir(up) {
				if p := filepath.Join(up, "deploy", "engine", "node_modules", "@chdb", pkg, name); isFile(p) {
					return p, nil
				}
				if up == filepath.Dir(up) {
					break
				}
			}
		}
	}
	return "", fmt.Errorf("%w: run %s in the project's folder, or name the file by %s", ErrNoLibrary, InstallCommand, LibraryEnv)
}

// starts are the directories where the search begins: the program's and the working one.
func starts() []string {
	var dirs []string
	if exe, err := os.Executable(); err == nil {
		if real, err := filepath.EvalSymlinks(exe); err == nil {
			exe = real
		}
		dirs = append(dirs, filepath.Dir(exe))
	}
	if wd, err := os.Getwd(); err == nil {
		dirs = append(dirs, wd)
	}
	return dirs
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}
