package backup

import (
	"context"
	"io"
)

// PutAside keeps a small thing beside the copies, once: what was there before is
// replaced, so that no copy brings an earlier one back. dir is for what is on its
// way.
func (r *Repository) PutAside(ctx context.Context, name string, data []byte, dir string) error {
	p, err := newPack(r.key, dir)
	if err != nil {
		return err
	}
	if _, err := p.out.Write(data); err != nil {
		p.file.Close()
		return err
	}
	p.name = asideName(name)
	_, err = p.send(ctx, r.target)
	return err
}

// Aside reads what PutAside kept last; ErrMissing: nothing was.
func (r *Repository) Aside(ctx context.Context, name string) (data []byte, err error) {
	err = r.read(ctx, asideName(name), func(in io.Reader) error {
		data, err = io.ReadAll(io.LimitReader(in, 256<<20))
		return err
	})
	return data, err
}

func asideName(name string) string { return "aside/" + name + ".age" }
