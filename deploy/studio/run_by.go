package studio

import (
	"fmt"
	"os"

	"fairlead/deploy/release"
	"fairlead/ingest/log/durable"
)

// runByFile says which program ran last on the data.
func (c *Config) runByFile() string { return c.DataPath("run_by.json") }

// refuseOlder says that a newer program ran on these data: what it changed, this one
// does not know, and it would wait for ever for a store that it may not write to.
func (c *Config) refuseOlder() error {
	last, err := durable.ReadJSON[release.Info](c.runByFile())
	if err != nil {
		return fmt.Errorf("%s: %w: remove it, and it is written anew", c.runByFile(), err)
	}
	this := release.Of()
	if last.Schema <= this.Schema && last.Contract <= this.Contract {
		return nil
	}
	return fmt.Errorf("the data in %s were run by a newer program (%s: schema %d, contract %d), and this one (%s) knows up to "+
		"schema %d, contract %d. Nothing was changed. Install that program again, or a later one; "+
		"or have this one restore a backup of before it (`fairlead restore`)",
		c.DataPath(), last, last.Schema, last.Contract, this, this.Schema, this.Contract)
}

// noteProgram writes down that this program runs on the data.
func (c *Config) noteProgram() error {
	this := release.Of()
	if last, err := durable.ReadJSON[release.Info](c.runByFile()); err == nil && last == this {
		return nil
	}
	if err := os.MkdirAll(c.DataPath(), 0o700); err != nil {
		return err
	}
	return durable.WriteJSON(c.runByFile(), this)
}
