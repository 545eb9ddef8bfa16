package backup

// syncAll leaves it to the system when what was written reaches the disks.
func syncAll() {}
