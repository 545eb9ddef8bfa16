package backup

import (
	"context"
	"fmt"
	"io"
	"os"
	"path"
	"strings"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"
)

// bucket is a target in an S3-like store.
type bucket struct {
	client       *minio.Client
	name, prefix string
}

func openS3(host, name, prefix, region string, tls bool, file string) (Target, error) {
	who := credentials.NewEnvAWS()
	if file != "" {
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, fmt.Errorf("credentials of the backup's store: %w", err)
		}
		words := strings.Fields(string(text))
		if len(words) != 2 {
			return nil, fmt.Errorf("credentials of the backup's store: %s holds %d words: write the access key and its secret, a line each", file,
				len(words))
		}
		who = credentials.NewStaticV4(words[0], words[1], "")
	}
	client, err := minio.New(host, &minio.Options{Creds: who, Secure: tls, Region: region})
	if err != nil {
		return nil, fmt.Errorf("backup's store %s: %w", host, err)
	}
	return &bucket{client, name, prefix}, nil
}

func (b *bucket) String() string {
	return "s3://" + path.Join(b.client.EndpointURL().Host, b.name, b.prefix)
}

func (b *bucket) key(name string) string { return path.Join(b.prefix, name) }

func (b *bucket) failed(err error) error {
	switch minio.ToErrorResponse(err).Code {
	case "":
		return fmt.Errorf("%s: %w", b, err)
	case "NoSuchKey":
		return fmt.Errorf("%s: %w", b, ErrMissing)
	case "NoSuchBucket":
		return fmt.Errorf("%s: %w: make the bucket first", b, err)
	}
	return fmt.Errorf("%s: %w: are address, bucket and credentials right?", b, err)
}

func (b *bucket) Put(ctx context.Context, name string, r io.Reader, size int64) error {
	if _, err := b.client.PutObject(ctx, b.name, b.key(name), r, size,
		minio.PutObjectOptions{ContentType: "application/octet-stream"}); err != nil {
		return b.failed(err)
	}
	return nil
}

func (b *bucket) Get(ctx context.Context, name string) (io.ReadCloser, error) {
	o, err := b.client.GetObject(ctx, b.name, b.key(name), minio.GetObjectOptions{})
	if err == nil {
		_, err = o.Stat() // the first word with the store
	}
	if err != nil {
		return nil, b.failed(err)
	}
	return o, nil
}

func (b *bucket) List(ctx context.Context, prefix string) (out []Object, err error) {
	under := b.key(prefix)
	if strings.HasSuffix(prefix, "/") {
		under += "/"
	}
	for o := range b.client.ListObjects(ctx, b.name, minio.ListObjectsOptions{Prefix: under, Recursive: true}) {
		if o.Err != nil {
			return nil, b.failed(o.Err)
		}
		out = append(out, Object{strings.TrimPrefix(strings.TrimPrefix(o.Key, b.prefix), "/"), o.Size})
	}
	return out, nil
}

func (b *bucket) Delete(ctx context.Context, name string) error {
	if err := b.client.RemoveObject(ctx, b.name, b.key(name), minio.RemoveObjectOptions{}); err != nil {
		return b.failed(err)
	}
	return nil
}
