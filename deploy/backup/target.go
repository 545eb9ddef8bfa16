package backup

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"strings"
)

// Object is one thing that a target keeps.
type Object struct {
	Name string
	Size int64
}

// Target keeps objects by name, such as packs/0a/0a12. What Put returned nil for
// is there whole; an object that is not there gives ErrMissing.
type Target interface {
	Put(ctx context.Context, name string, r io.Reader, size int64) error
	Get(ctx context.Context, name string) (io.ReadCloser, error)
	List(ctx context.Context, prefix string) ([]Object, error)
	Delete(ctx context.Context, name string) error
	String() string
}

// ErrMissing says that a target has no object of a name.
var ErrMissing = errors.New("not in the backup")

// OpenTarget opens the target that an address names: a folder, or
// s3://HOST[:PORT]/BUCKET[/PREFIX] (s3+http:// without TLS), whose credentials
// stand in a file (access key and secret, a line each) or, without one, in the
// environment as AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY.
func OpenTarget(address, credentials string) (Target, error) {
	scheme, _, remote := strings.Cut(address, "://")
	switch {
	case address == "":
		return nil, errors.New("no place for backups: set backup.to to a folder or to s3://HOST/BUCKET/PREFIX")
	case !remote:
		return Folder(address), nil
	case scheme != "s3" && scheme != "s3+http":
		return nil, fmt.Errorf("backup place %q: write a folder, or s3://HOST[:PORT]/BUCKET[/PREFIX]", address)
	}
	u, err := url.Parse(address)
	if err != nil {
		return nil, fmt.Errorf("backup place: %w", err)
	}
	bucket, prefix, _ := strings.Cut(strings.Trim(u.Path, "/"), "/")
	if u.Host == "" || bucket == "" {
		return nil, fmt.Errorf("backup place %q: write s3://HOST[:PORT]/BUCKET[/PREFIX]", address)
	}
	return openS3(u.Host, bucket, prefix, u.Query().Get("region"), scheme == "s3", credentials)
}
