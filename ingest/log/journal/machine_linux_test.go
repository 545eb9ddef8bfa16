package journal

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// What a copied disk takes along does not make two computers one.
func TestMachineFacts(t *testing.T) {
	root := t.TempDir()
	put := func(path, content string) {
		t.Helper()
		path = filepath.Join(root, path)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(content+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	card := func(name, device, address, assigned string) {
		t.Helper()
		put("sys/devices/"+device+"/vendor", "x")
		put("sys/class/net/"+name+"/address", address)
		put("sys/class/net/"+name+"/addr_assign_type", assigned)
		if err := os.Symlink(filepath.Join(root, "sys/devices", device), filepath.Join(root, "sys/class/net", name, "device")); err != nil {
			t.Fatal(err)
		}
	}
	facts := func() string { return fmt.Sprint(machineFactsUnder(root)) }
	put("etc/machine-id", "abc")
	if got := facts(); got != "[system abc]" {
		t.Error(got)
	}
	card("lan", "pci0/1", "00:00:00:00:00:05", "0")
	card("dongle", "pci0/usb1/2", "00:00:00:00:00:01", "0")
	card("random", "pci0/3", "00:00:00:00:00:02", "1")
	if got := facts(); got != "[system abc card 00:00:00:00:00:05]" {
		t.Error(got)
	}
	put("sys/class/dmi/id/product_uuid", "board")
	if got := facts(); got != "[system abc board board]" {
		t.Error(got)
	}
}
