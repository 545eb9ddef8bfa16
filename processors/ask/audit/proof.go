package audit

import (
	"context"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// proof looks at what counting does not show: whether each row says what its
// journal's record and the visit events say, whoever wrote it.
func (a Auditor) proof(ctx context.Context, place stream.Place, h *event.Heartbeat, b *Bay) ([]suspect, []string, error) {
	suspects, compared, err := a.content(ctx, place, h)
	if err != nil {
		return nil, nil, err
	}
	b.Compared = compared
	for _, s := range suspects {
		if s.forged {
			b.Forged++
		} else {
			b.Altered++
		}
		b.example("%s", s)
	}
	unnoted, err := a.Store.Unnoted(ctx, place)
	if err != nil {
		return nil, nil, err
	}
	b.Unnoted = uint64(len(unnoted))
	for _, key := range unnoted {
		b.example("entry %s was refused by the store, and the note of that is gone", key)
	}
	if err := a.identity(ctx, place, b); err != nil {
		return nil, nil, err
	}
	wrong, err := steadily(ctx, a.again(), func() ([]string, error) { return Tags(ctx, a.Store, place) })
	if err != nil {
		return nil, nil, err
	}
	b.Mistagged = uint64(len(wrong))
	for _, w := range wrong {
		b.example("%s", w)
	}
	rows, err := Rows(ctx, a.Store, place, false, a.again())
	if err != nil {
		return nil, nil, err
	}
	for _, r := range rows {
		if r.What == "outdated" {
			b.Outdated++
			continue
		}
		b.Rows++
		b.example("%s", r)
	}
	if b.Outdated > 0 {
		b.example("%d rows of shots and trials come from another flight model than this program's: their carries are taken by nothing until "+
			"they are computed anew, which the hub does by itself, or `fairlead audit --repair`", b.Outdated)
	}
	return suspects, unnoted, nil
}

// identity finds a bay's name used by two: by a copied disk, or a second collector
// that was set up under it.
func (a Auditor) identity(ctx context.Context, place stream.Place, b *Bay) error {
	beside, err := a.Store.Beside(ctx, place)
	if err != nil {
		return err
	}
	b.Beside = uint64(len(beside))
	for _, pair := range beside {
		b.example("journals %s were written side by side: do two collectors run as bay %s?", pair, place.Bay)
	}
	if b.Shared, err = a.Store.Shared(ctx, place); err != nil {
		return err
	}
	if b.Shared > 0 {
		b.example("%d shots count in another bay too: do two bays read one device, or was a disk copied?", b.Shared)
	}
	return nil
}
