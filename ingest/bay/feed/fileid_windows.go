package feed

import (
	"fmt"
	"os"

	"golang.org/x/sys/windows"
)

// holdOpen: an open file can't be renamed by its writer here, so the reader
// lets go of it between reads.
const holdOpen = false

// fileID names a file whatever its path, as long as it exists. Without an open
// file it is not known here.
func fileID(f *os.File, _ os.FileInfo) string {
	if f == nil {
		return ""
	}
	var info windows.ByHandleFileInformation
	if windows.GetFileInformationByHandle(windows.Handle(f.Fd()), &info) != nil {
		return ""
	}
	return fmt.Sprintf("%x-%x%08x", info.VolumeSerialNumber, info.FileIndexHigh, info.FileIndexLow)
}
