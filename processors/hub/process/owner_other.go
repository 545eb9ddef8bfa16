//go:build !linux

package process

import "fmt"

// ownerOf names a process in the leases.
func ownerOf(host string, pid int) string { return fmt.Sprintf("%s-%d", host, pid) }

// dead is not known here: leases run out.
func dead(string, string) bool { return false }
