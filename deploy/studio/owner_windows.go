package studio

import "io/fs"

func ownerOf(fs.FileInfo) (uid int, ok bool) { return 0, false }
