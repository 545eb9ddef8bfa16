package bays

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"

	"fairlead/deploy/studio"
	"fairlead/deploy/systemd"
	"fairlead/ingest/log/durable"
)

const (
	account  = "fairlead"
	unitName = "fairlead-collect@.service"
	// What a package installs is left as it is.
	packaged = "/usr/lib/systemd/system/" + unitName
	ours     = "/etc/systemd/system/" + unitName
	usualDir = "/etc/fairlead"
)

// usual is systemd where it runs and may be spoken to.
func usual() string {
	if _, err := os.Stat("/run/systemd/system"); err == nil && os.Geteuid() == 0 {
		return Systemd
	}
	return None
}

// AsService runs what a service does; systemd starts plain programs.
func AsService(context.Context, func(context.Context) error) (bool, error) { return false, nil }

// install has systemd keep the collector running.
func (j Join) install(ctx context.Context, kind string, c *studio.Config, bay string) error {
	if kind != Systemd {
		return fmt.Errorf("there is no %s here", kind)
	}
	if j.Dir != usualDir || j.Data != "/var/lib/fairlead" {
		return fmt.Errorf("the unit reads %s and writes /var/lib/fairlead: leave --dir and --data out, or give --service none", usualDir)
	}
	if _, err := user.Lookup(account); err != nil {
		if err := run(ctx, "useradd", "--system", "--user-group", "--home-dir", j.Data, "--shell", "/usr/sbin/nologin", account); err != nil {
			return err
		}
	}
	if err := own(j.Data, c.File(), filepath.Join(j.Dir, "bay-"+bay+".seed")); err != nil {
		return err
	}
	if _, err := os.Stat(packaged); err != nil {
		if err := j.unit(ours); err != nil {
			return err
		}
	}
	if err := run(ctx, "systemctl", "daemon-reload"); err != nil {
		return err
	}
	if err := run(ctx, "systemctl", "enable", "--now", "fairlead-collect@"+bay); err != nil {
		return err
	}
	// One that ran with an older key takes the new one.
	if err := run(ctx, "systemctl", "restart", "fairlead-collect@"+bay); err != nil {
		return err
	}
	fmt.Fprintf(j.Out, "the service fairlead-collect@%s runs, and starts with the machine\n", bay)
	return nil
}

// unit writes the unit for the program as it is installed here.
func (j Join) unit(path string) error {
	text := strings.ReplaceAll(systemd.Collect, "/opt/fairlead/bin/fairlead ", j.Program+" ")
	return durable.WriteFile(path, []byte(text), 0o644)
}

// own gives folders and files to the service's account.
func own(paths ...string) error {
	u, err := user.Lookup(account)
	if err != nil {
		return err
	}
	uid, err1 := strconv.Atoi(u.Uid)
	gid, err2 := strconv.Atoi(u.Gid)
	if err := errors.Join(err1, err2); err != nil {
		return err
	}
	for _, p := range paths {
		err := filepath.WalkDir(p, func(path string, _ os.DirEntry, err error) error {
			if err != nil {
				return err
			}
			return os.Lchown(path, uid, gid)
		})
		if err != nil {
			return err
		}
	}
	return nil
}
