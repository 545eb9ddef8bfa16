package copies

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Copies that were taken before texts were sealed hold them in clear for whoever has
// the key of the copies, also those of people who are erased. They age out by
// themselves; who does not want to wait prunes them.

// errNoNewer is why nothing is pruned.
var errNoNewer = errors.New("no copy was taken since the texts were sealed, and the last one there is never goes: take one with " +
	"`fairlead backup` first")

// BeforeSealing lists the copies that were taken before an earlier version's texts
// were sealed; none where nothing was sealed.
func (k Keeper) BeforeSealing(ctx context.Context) (old []string, err error) {
	old, _, err = k.split(ctx)
	return old, err
}

func (k Keeper) split(ctx context.Context) (old, since []string, err error) {
	r, err := k.Repository(ctx)
	if err != nil {
		return nil, nil, err
	}
	names, err := r.List(ctx)
	if err != nil {
		return nil, nil, err
	}
	for _, name := range names {
		m, err := r.Manifest(ctx, name)
		if err != nil {
			return nil, nil, err
		}
		if m.Taken.Before(r.Since) {
			old = append(old, name)
		} else {
			since = append(since, name)
		}
	}
	return old, since, nil
}

// Pruned is what pruning found and did.
type Pruned struct {
	Old  []string `json:"old"`  // taken before the sealing
	Kept []string `json:"kept"` // taken since
	Gone int      `json:"gone"`
}

// WriteText says it in words.
func (p Pruned) WriteText(w io.Writer) error {
	if len(p.Old) == 0 {
		_, err := fmt.Fprintf(w, "no copy was taken before texts were sealed; %d are there\n", len(p.Kept))
		return err
	}
	_, err := fmt.Fprintf(w, "%d copies were taken before texts were sealed, and hold what people wrote in clear for who has their key: %s\n"+
		"%d were taken since\n", len(p.Old), strings.Join(p.Old, ", "), len(p.Kept))
	if err == nil && p.Gone > 0 {
		_, err = fmt.Fprintf(w, "removed: %d\n", p.Gone)
	}
	return err
}

// Prune removes the copies of before the sealing, once agree says so of what was found.
func (k Keeper) Prune(ctx context.Context, agree func(Pruned) error) (p Pruned, err error) {
	unlock, err := k.lock(ctx)
	if err != nil {
		return p, err
	}
	defer unlock()
	if p.Old, p.Kept, err = k.split(ctx); err != nil || len(p.Old) == 0 {
		return p, err
	}
	if len(p.Kept) == 0 {
		return p, errNoNewer
	}
	if err := agree(p); err != nil {
		return p, err
	}
	r, err := k.Repository(ctx)
	if err != nil {
		return p, err
	}
	p.Gone, err = r.Prune(ctx, r.Since)
	return p, err
}

// AskPrune shows what would go and wants it said in words.
func AskPrune(in io.Reader, w io.Writer) func(Pruned) error {
	return func(p Pruned) error {
		p.WriteText(w)
		words := fmt.Sprintf("remove %d copies", len(p.Old))
		fmt.Fprintf(w, "\nThey can't be brought back. Type %s: ", words)
		line, err := bufio.NewReader(in).ReadString('\n')
		if strings.EqualFold(strings.TrimSpace(line), words) {
			return nil
		}
		if err != nil && line == "" {
			return errors.New("nothing was removed: nobody answered; scripts say --yes")
		}
		return errors.New("nothing was removed: that was something else")
	}
}
