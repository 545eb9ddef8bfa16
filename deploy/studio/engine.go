package studio

import (
	"fmt"

	"fairlead/deploy/engine"
)

// EngineCommand is the program of the embedded engine with its arguments, after
// its parts were found and its token was made. With bound it ends with its parent.
func (c *Config) EngineCommand(bound bool) (binary string, args []string, err error) {
	if binary, err = engine.FindBinary(); err != nil {
		return "", nil, err
	}
	if _, err := engine.FindLibrary(); err != nil {
		return "", nil, err
	}
	if _, err := engine.EnsureToken(c.EngineTokenFile()); err != nil {
		return "", nil, err
	}
	memory, err := c.EngineMemory()
	if err != nil {
		return "", nil, err
	}
	args = []string{binary, "--data", c.EngineDir(), "--listen", c.Store.Listen,
		"--token-file", c.EngineTokenFile(), "--users", c.EngineUsersDir(), "--database", EngineDatabase, "--memory", fmt.Sprint(memory)}
	if bound {
		args = append(args, "--parent-stdin")
	}
	return binary, args, nil
}
