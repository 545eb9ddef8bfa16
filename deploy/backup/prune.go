package backup

import (
	"context"
	"time"
)

// Prune removes copies taken before a time, but never the newest, and packs that
// no copy needs. It returns how many copies went. No copy may be taken meanwhile.
func (r *Repository) Prune(ctx context.Context, before time.Time) (gone int, err error) {
	names, err := r.List(ctx)
	if err != nil || len(names) == 0 {
		return 0, err
	}
	needed := map[string]bool{}
	for i, name := range names {
		taken, err := time.Parse(nameLayout, name)
		if err == nil && taken.Before(before) && i < len(names)-1 {
			if err := r.target.Delete(ctx, manifestName(name)); err != nil {
				return gone, err
			}
			gone++
			continue
		}
		m, err := r.Manifest(ctx, name)
		if err != nil {
			return gone, err // what it needs is not known: no pack may go
		}
		for _, at := range m.Chunks {
			needed[at.Pack] = true
		}
	}
	objects, err := r.target.List(ctx, "packs/")
	if err != nil {
		return gone, err
	}
	for _, o := range objects {
		if !needed[o.Name] {
			if err := r.target.Delete(ctx, o.Name); err != nil {
				return gone, err
			}
		}
	}
	return gone, nil
}
