package backup

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"

	"filippo.io/age"
	"github.com/klauspost/compress/zstd"
)

// packBytes is how much goes into a pack before it is sent, uncompressed.
const packBytes = 48 << 20

// pack is being filled in a temporary file, encrypted from the first byte.
type pack struct {
	name   string
	file   *os.File
	cipher io.WriteCloser
	out    *zstd.Encoder
	length int64
}

func newPack(k Key, dir string) (*pack, error) {
	id := make([]byte, 16)
	if _, err := rand.Read(id); err != nil {
		return nil, err
	}
	name := hex.EncodeToString(id)
	file, err := os.CreateTemp(dir, ".pack-*")
	if err != nil {
		return nil, fmt.Errorf("backup: %w", err)
	}
	os.Remove(file.Name()) // it goes with the last hand on it
	p := &pack{name: "packs/" + name[:2] + "/" + name, file: file}
	if p.cipher, err = age.Encrypt(file, k.identity.Recipient()); err == nil {
		p.out, err = zstd.NewWriter(p.cipher, zstd.WithEncoderConcurrency(1))
	}
	if err != nil {
		file.Close()
		return nil, err
	}
	return p, nil
}

// add appends a chunk and says where it lies.
func (p *pack) add(chunk []byte) (place, error) {
	at := place{p.name, p.length, int64(len(chunk))}
	n, err := p.out.Write(chunk)
	p.length += int64(n)
	return at, err
}

// send ends the pack and brings it to the target; sent is its size there.
func (p *pack) send(ctx context.Context, t Target) (sent int64, err error) {
	defer p.file.Close()
	if err := errors.Join(p.out.Close(), p.cipher.Close()); err != nil {
		return 0, err
	}
	if sent, err = p.file.Seek(0, io.SeekCurrent); err != nil {
		return 0, err
	}
	if _, err = p.file.Seek(0, io.SeekStart); err != nil {
		return 0, err
	}
	return sent, t.Put(ctx, p.name, p.file, sent)
}
