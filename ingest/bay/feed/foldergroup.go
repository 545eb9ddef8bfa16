package feed

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"

	"fairlead/ingest/bay/sheet"
)

// group reads finished files and hands their lines over together: an export a
// shot would else cost two writes to the disk a shot. A file is noted as read
// once its lines are durable; what a crash takes between the two is read again,
// with the same identities.
type group struct {
	s       *Folder
	book    *ledger
	emit    Emit
	pos     *position
	drafts  []Draft
	size    int
	skipped Skipped
	mark    mark // of the file that was read last
	done    []page
	many    bool // files, so that nothing is to be learned of when each of them came
}

// full says whether what was read is to be handed over.
func (g *group) full() bool { return len(g.drafts) >= batchLines || g.size >= batchBytes }

// read reads a file from its start, or from where an earlier life stopped in it.
func (g *group) read(ctx context.Context, a arrival) error {
	f := a.found
	in, err := os.Open(f.path)
	if err != nil {
		return &fileError{err}
	}
	defer in.Close()
	content, err := g.s.contentOf(f, in)
	if err != nil {
		return &fileError{err}
	}
	p := page{Name: f.name, Size: f.info.Size(), Mtime: mtime(f.info), Content: content}
	watched := !g.many && a.after > 0
	if watched {
		if err := g.send(ctx); err != nil { // what came before came otherwise
			return err
		}
	}
	before := g.book.byName[f.name].Lines
	g.s.last = f
	if g.book.hasContent(content) {
		g.done = append(g.done, p) // touched or copied back: known
		return nil
	}
	plain, as, size, err := unpacked(in, f)
	if err == nil && as == f.name && g.s.cfg.Map.holder == holderDatabase {
		var laid *bytes.Reader
		if laid, err = g.s.cfg.Map.laidFile(f.path); errors.Is(err, sheet.ErrBusy) {
			return &fileError{err}
		} else if err == nil {
			plain, size = laid, laid.Size()
		}
	} else if err == nil && g.s.cfg.Map.Whole() {
		var laid *bytes.Reader
		if laid, err = g.s.cfg.Map.laid(io.NewSectionReader(plain, 0, size)); err == nil {
			plain, size = laid, laid.Size()
		}
	}
	if err != nil {
		return g.refuse(p, err)
	}
	r := newFileReader(g.s.cfg.Map, as, plain)
	if m := g.pos.find(content); m != nil && m.Off <= size {
		if err := r.resume(m.Off); err != nil {
			return err
		}
	}
	if m := g.pos.find(content); m != nil {
		r.p.clock.begin(m.Clock)
	}
	if !g.many {
		g.s.cfg.Log.Info("feed reads a file", "path", f.path, "offset", r.lines.off)
	}
	taken := 0
	for skipped := (Skipped{}); ; {
		d, ok, err := r.step(true)
		if err != nil && !errors.Is(err, io.EOF) {
			return &fileError{err}
		}
		if ok {
			g.drafts, g.size, taken = append(g.drafts, d), g.size+len(d.Entry.Raw), taken+1
		}
		if err != nil || g.full() {
			now := r.p.skipped
			less := now.less(skipped)
			skipped = now
			g.skipped = g.skipped.plus(less)
			g.mark = mark{Name: content, As: as, Off: r.lines.off, Line: r.p.line, Clock: r.p.clock.last}
		}
		if err != nil {
			break
		}
		if g.full() {
			if err := g.send(ctx); err != nil {
				return err
			}
		}
	}
	if taken == 0 && f.info.Size() > 0 && r.p.header == nil {
		g.s.mute = f.path
		g.s.cfg.Log.Warn("a file has bytes and no line of data: check format, encoding and csv.skip in the map", "path", f.path, "bytes",
			f.info.Size())
	} else if taken > 0 {
		g.s.mute = ""
	}
	p.Lines = before
	if taken > 0 {
		p.Lines = int(r.p.line)
	}
	g.s.clock = r.Clock()
	if watched {
		if err := g.sendWatched(ctx, a.sighting, before); err != nil {
			return err
		}
	}
	g.done = append(g.done, p)
	if len(g.done) >= 1024 {
		return g.flush(ctx)
	}
	return nil
}

// refuse passes over a file that can't be unpacked, or read as a whole, and says so.
func (g *group) refuse(p page, err error) error {
	g.s.mute = p.Name
	g.s.cfg.Log.Error("a file can't be unpacked or read as a whole, and is passed over", "file", p.Name, "error", err)
	g.done = append(g.done, p)
	return nil
}

// sendWatched hands over a file that appeared while the folder was watched. Where
// one line of it is new, that is as good as seen when it was written; what stood
// in the file when it was read before is no news.
func (g *group) sendWatched(ctx context.Context, s sighting, before int) error {
	fresh := 0
	for fresh < len(g.drafts) && g.drafts[len(g.drafts)-1-fresh].Entry.Line > uint64(before) {
		fresh++
	}
	old := g.drafts[:len(g.drafts)-fresh]
	if fresh == 1 && len(old) > 0 {
		last := g.drafts[len(g.drafts)-1]
		g.drafts = old
		if err := g.sendAs(ctx, Batch{Export: true, Seen: s.seen}); err != nil {
			return err
		}
		g.drafts = []Draft{last}
	}
	if fresh == 1 {
		return g.sendAs(ctx, Batch{Seen: s.seen, After: s.after})
	}
	return g.sendAs(ctx, Batch{Export: true, Seen: s.seen})
}

// send hands over what was read so far, as lines that were there before.
func (g *group) send(ctx context.Context) error {
	return g.sendAs(ctx, Batch{Backlog: true, Export: true})
}

// sendAs hands over what was read so far, with what is said in b of its times.
func (g *group) sendAs(ctx context.Context, b Batch) error {
	if len(g.drafts) == 0 {
		return nil
	}
	next := position{Version: 1, Kind: "folder", Files: []mark{g.mark}}
	b.Drafts, b.Position, b.Skipped = g.drafts, next.encode(), g.skipped
	if err := sendPatiently(ctx, b, g.emit, &g.s.stateBox); err != nil {
		return err
	}
	*g.pos = next
	g.drafts, g.size, g.skipped = nil, 0, Skipped{}
	return nil
}

// flush hands over the rest, and then notes the files as read.
func (g *group) flush(ctx context.Context) error {
	if err := g.send(ctx); err != nil {
		return err
	}
	done := g.done
	g.done = nil
	return g.book.add(done...)
}
