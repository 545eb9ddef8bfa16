package studio

import (
	"encoding/json"
	"net"
	"os"
	"path/filepath"
	"strconv"
)

// Children are the processes of the studio on this machine, in the order of
// who feeds whom: store and log first, the bays last. A bay without feeds has
// nothing to collect here: its collector runs on a PC of its own, and a second
// one must not speak in its name. binary is the fairlead program that each of
// them runs.
func (c *Config) Children(binary string, extra ...string) []Child {
	var out []Child
	edge := false // nobody waits for what these say
	add := func(name, command string, args ...string) {
		args = append([]string{command, "--config", c.file, "--with-parent", "--metrics", c.metricsAddress(len(out))}, args...)
		out = append(out, Child{Name: name, Path: binary, Args: append(args, extra...), Beside: edge, Speaks: true})
	}
	if c.Store.DSN == "" {
		add("engine", "engine")
	}
	if c.Broker.URL == "" {
		add("broker", "broker")
	}
	add("process", "process")
	add("console", "console")
	edge = true
	for _, b := range c.Bays {
		if len(b.Feeds) == 0 && b.Devices == "" {
			continue
		}
		add("collect-"+b.Name, "collect", "--bay", b.Name)
	}
	add("watch", "watch") // after them, so that the others keep their ports
	if c.HeadOffice.URL != "" {
		add("forward", "forward")
	}
	if c.Backup.To != "" {
		add("backup", "backup", "--scheduled")
	}
	return out
}

// metricsAddress is the configured address counted up, or a free port where
// the configuration leaves it to us.
func (c *Config) metricsAddress(i int) string {
	host, port, err := net.SplitHostPort(c.Metrics.Listen)
	if err != nil {
		return "127.0.0.1:0"
	}
	n, err := strconv.Atoi(port)
	if err != nil || n == 0 {
		return net.JoinHostPort(host, "0")
	}
	return net.JoinHostPort(host, strconv.Itoa(n+i))
}

// ProcessesFile lists the running children with their process ids, for who
// looks after them.
func (c *Config) ProcessesFile() string { return c.DataPath("processes.json") }

// WriteProcesses writes the list, in one piece.
func (c *Config) WriteProcesses(running []Running) error {
	text, err := json.MarshalIndent(running, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(c.ProcessesFile()), 0o700); err != nil {
		return err
	}
	temporary := c.ProcessesFile() + ".tmp"
	if err := os.WriteFile(temporary, append(text, '\n'), 0o644); err != nil {
		return err
	}
	return os.Rename(temporary, c.ProcessesFile())
}
