// Package backup keeps copies of folders in a repository that is a folder or a
// bucket of an S3-like store: what has not changed since an earlier copy is not
// sent again, and all of it is encrypted before it leaves the machine.
//
// A file is cut into chunks of four megabytes, each known by its SHA-256. New
// chunks go into packs, which are compressed and encrypted whole; a manifest
// says of one copy which files it has and in which packs their chunks lie. The
// repository shows who reads it sizes and times, and nothing else.
package backup
