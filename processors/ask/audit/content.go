package audit

import (
	"bytes"
	"context"
	"encoding/hex"
	"fmt"
	"hash/crc32"
	"math"
	"time"

	"github.com/cespare/xxhash/v2"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
)

// What the store holds of an entry is held against what its journal holds of it,
// byte for byte by a hash, and where the journal has it no more, against the
// checksum that its message in the log carries beside it. So a line that the
// device wrote, its record in the journal, its message and its row are one thing.

// suspect is a row that is not what its journal says.
type suspect struct {
	store.Kept
	record []byte // what should be stored; nil: nobody has it
	forged bool   // neither journal nor log know of it
}

func (s suspect) String() string {
	what := "says other than the journal's record"
	if s.forged {
		what = "stands in the store, and neither in the journal nor in the log"
	}
	return fmt.Sprintf("entry %d of journal %s, shot %s, %s", s.Seq, s.Journal, s.ID, what)
}

// leastWait is how long a bay may take to read a stretch of its journal.
const leastWait = 5 * time.Second

// maxSuspects bounds what is looked into at a time; the next audit finds the rest.
const maxSuspects = 2000

// content compares the rows of a bay's journals with their records, and counts them.
func (a Auditor) content(ctx context.Context, place stream.Place, h *event.Heartbeat) (out []suspect, compared uint64, err error) {
	var found []suspect
	for _, s := range h.Journals {
		differ, n, err := a.differing(ctx, place, s)
		if err != nil {
			return nil, 0, err
		}
		found = append(found, differ...)
		compared += n
	}
	if len(found) > 0 {
		out, err = a.suspects(ctx, place, found)
	}
	return out, compared, err
}

// suspects are those of the rows found that are wrong, with what should stand there.
func (a Auditor) suspects(ctx context.Context, place stream.Place, found []suspect) ([]suspect, error) {
	found = found[:min(len(found), maxSuspects)]
	noted, err := a.refused(ctx, place)
	if err != nil {
		return nil, err
	}
	if err := a.fromJournal(ctx, place, found); err != nil {
		return nil, err
	}
	heads, err := a.headsOf(ctx, place, found)
	if err != nil {
		return nil, err
	}
	var out []suspect
	for _, f := range found {
		if noted[fmt.Sprintf("%s/%d/%s", f.Journal, f.Seq, f.ID)] || f.asItShould() {
			continue
		}
		data, err := a.Store.Bytes(ctx, place, f.Kept)
		if err != nil {
			return nil, err
		}
		at := heads[number{f.Journal, f.Seq}]
		sum, whole := sumOf(data, f.Journal, f.Seq)
		vouched := false
		for _, head := range at {
			vouched = vouched || whole && head.Sum == sum
		}
		if vouched {
			continue // a copy of the disk wrote it: claimed twice, and counted as that
		}
		if f.record == nil && len(at) > 0 {
			if f.record, err = a.fromLog(ctx, at[0]); err != nil {
				return nil, err
			}
			if f.asItShould() {
				continue
			}
		}
		// A record under this number with another shot says that this row is nobody's.
		l, wrong := sink.AsStored(f.record)
		f.forged = f.record == nil || wrong != nil || hex.EncodeToString(l.Entry.ShotId) != f.ID
		out = append(out, f)
	}
	return out, nil
}

// differing lists the rows of one journal that are not its records, by their hashes.
func (a Auditor) differing(ctx context.Context, place stream.Place, s *event.JournalState) (out []suspect, compared uint64, err error) {
	for from := max(s.First, 1); from <= s.Last; {
		c, err := a.ask(ctx, place, &event.AskRequest{Journal: s.Journal, From: from, To: s.Last})
		if err != nil || len(c.GetHashes()) == 0 {
			return out, compared, err
		}
		to := from + uint64(len(c.Hashes)) - 1
		rows, err := a.Store.KeptEntries(ctx, place, s.Journal, from, to)
		if err != nil {
			return out, compared, err
		}
		compared += uint64(len(rows))
		for _, k := range rows {
			if c.Hashes[k.Seq-from] != k.Hash {
				out = append(out, suspect{Kept: k})
			}
		}
		from = to + 1
	}
	// Beyond its end as it is now: what was appended meanwhile is stored rightly.
	rows, err := a.Store.KeptEntries(ctx, place, s.Journal, s.Last+1, math.MaxInt64)
	if err != nil || len(rows) == 0 {
		return out, compared, err
	}
	h, err := Ask(ctx, a.Conn, place, a.Wait)
	if err != nil {
		return out, compared, ctx.Err()
	}
	for _, now := range h.Journals {
		for _, k := range rows {
			if now.Journal == s.Journal && k.Seq > now.Last {
				out = append(out, suspect{Kept: k})
			}
		}
	}
	return out, compared, nil
}

// asItShould says whether the row is what the record gives.
func (s suspect) asItShould() bool {
	if s.record == nil {
		return false
	}
	l, err := sink.AsStored(s.record)
	if err != nil {
		return false
	}
	data := l.Bytes
	if s.Erased {
		e := &event.Entry{}
		if proto.Unmarshal(l.Bytes, e) != nil {
			return false
		}
		if data, err = (proto.MarshalOptions{Deterministic: true}).Marshal(event.EraseEntry(e)); err != nil {
			return false
		}
	}
	return xxhash.Sum64(data) == s.Hash
}

// ask asks for what a journal holds; nil where its collector can't say.
func (a Auditor) ask(ctx context.Context, place stream.Place, request *event.AskRequest) (*event.Content, error) {
	data, err := proto.Marshal(request)
	if err != nil {
		return nil, err
	}
	wait, cancel := context.WithTimeout(ctx, max(a.Wait, leastWait))
	defer cancel()
	m, err := a.Conn.RequestWithContext(wait, place.AskSubject(), data)
	if err != nil {
		return nil, ctx.Err() // a bay that went away meanwhile is no trouble of the audit
	}
	h := &event.Heartbeat{}
	if err := proto.Unmarshal(m.Data, h); err != nil {
		return nil, fmt.Errorf("what the journals of %s hold: %w", place, err)
	}
	if h.Content.GetJournal() != request.Journal || h.Content.GetFrom() != request.From {
		return nil, nil
	}
	return h.Content, nil
}

// fromJournal gives suspects the records that their journals hold.
func (a Auditor) fromJournal(ctx context.Context, place stream.Place, found []suspect) error {
	have := map[number][]byte{}
	for i := range found {
		f := &found[i]
		n := number{f.Journal, f.Seq}
		if _, asked := have[n]; !asked {
			// Those that follow come along, as far as one answer goes.
			to := f.Seq
			for j := i + 1; j < len(found) && found[j].Journal == f.Journal && found[j].Seq <= to+1; j++ {
				to = found[j].Seq
			}
			c, err := a.ask(ctx, place, &event.AskRequest{Journal: f.Journal, From: f.Seq, To: to, Records: true})
			if err != nil {
				return err
			}
			have[n] = nil
			for k, record := range c.GetRecords() {
				have[number{f.Journal, f.Seq + uint64(k)}] = record
			}
		}
		if r := have[n]; len(r) > 0 {
			f.record = r
		}
	}
	return nil
}

// number is a record's place in a journal.
type number struct {
	journal string
	seq     uint64
}

// headsOf finds the messages of the log that carry the suspects' numbers.
func (a Auditor) headsOf(ctx context.Context, place stream.Place, found []suspect) (map[number][]gap.Head, error) {
	out := map[number][]gap.Head{}
	for _, f := range found {
		out[number{f.Journal, f.Seq}] = nil
	}
	return out, gap.Heads(ctx, a.JS, stream.Shots, place.ShotsSubject(), func(h gap.Head) {
		n := number{h.Journal, h.Seq}
		if have, wanted := out[n]; wanted {
			out[n] = append(have, h)
		}
	})
}

// fromLog reads a message; nil where it is gone.
func (a Auditor) fromLog(ctx context.Context, h gap.Head) ([]byte, error) {
	s, err := a.JS.Stream(ctx, stream.Shots)
	if err != nil {
		return nil, fmt.Errorf("read the log: %w", err)
	}
	m, err := s.GetMsg(ctx, h.Message)
	if err != nil {
		return nil, ctx.Err()
	}
	return m.Data, nil
}

// refused are the keys of rows that the store refused, and that hold nothing.
func (a Auditor) refused(ctx context.Context, place stream.Place) (map[string]bool, error) {
	keys, err := a.Store.RefusedEntries(ctx, place)
	out := map[string]bool{}
	for _, k := range keys {
		out[k] = true
	}
	return out, err
}

// sumOf is the checksum of the journal's bytes in a message: those before its
// journal's name and number, which stand at its end.
func sumOf(data []byte, journal string, seq uint64) (sum uint32, whole bool) {
	end := protowire.AppendTag(nil, 4, protowire.BytesType)
	end = protowire.AppendString(end, journal)
	end = protowire.AppendTag(end, 5, protowire.VarintType)
	end = protowire.AppendVarint(end, seq)
	payload, whole := bytes.CutSuffix(data, end)
	return crc32.ChecksumIEEE(payload), whole
}
