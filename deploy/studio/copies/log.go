package copies

import (
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/stream"
)

// logFiles lists the files of the streams, each stream's blocks in the order they
// are written in. The broker appends to the last block while it is copied; it
// reads a block up to a record that is not whole, as after a power cut, and the
// journals, copied later, have what follows. Its indexes are left out: it makes
// them anew from the blocks. Consumers and leases belong to processes.
func logFiles(c *studio.Config) ([]source, error) {
	dir := c.BrokerDir()
	out, err := walk(dir, inData+"broker/", func(name string, d fs.DirEntry) bool {
		parts := strings.Split(name, "/") // jetstream, account, streams, stream, msgs, file
		switch n := len(parts); {
		case parts[0] != "jetstream" || n > 6:
			return false
		case n > 3 && parts[3] != stream.Shots && parts[3] != stream.Visits:
			return false
		case n == 5 && d.IsDir():
			return parts[4] == "msgs"
		case n == 6:
			return strings.HasSuffix(name, ".blk")
		}
		return true
	})
	slices.SortStableFunc(out, func(a, b source) int {
		if x, y := filepath.Dir(a.path), filepath.Dir(b.path); x != y || len(a.name) == len(b.name) {
			return strings.Compare(a.name, b.name)
		}
		return len(a.name) - len(b.name) // 9.blk before 10.blk
	})
	return out, err
}
