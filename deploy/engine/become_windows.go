package engine

import "errors"

// Become says that there is no engine on Windows.
func Become(string, []string) error {
	return errors.New("the embedded engine does not run on Windows: set store.dsn to a ClickHouse server, and run the hub on Linux or macOS")
}
