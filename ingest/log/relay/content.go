package relay

import (
	"github.com/cespare/xxhash/v2"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
)

const (
	// maxHashes bounds the hashes of one answer, and maxRecords the bytes of records.
	maxHashes  = 50_000
	maxRecords = 400 << 10
)

// Answer is what a request on a place's ask subject gets: what the journal holds
// where the request wants that, and otherwise the heartbeat. A collector of
// before answers with its heartbeat always.
func Answer(request []byte, j *journal.Journal, form Form, heartbeat func() *event.Heartbeat) ([]byte, error) {
	ask := wanted(request)
	if ask == nil {
		return proto.Marshal(heartbeat())
	}
	return proto.Marshal(&event.Heartbeat{Content: content(j, form, ask)})
}

// wanted is what a request wants of a journal; nil: the heartbeat is asked for.
func wanted(request []byte) *event.AskRequest {
	ask := &event.AskRequest{}
	if len(request) == 0 || proto.Unmarshal(request, ask) != nil || ask.Journal == "" {
		return nil
	}
	return ask
}

// content reads a stretch of a journal, up to what one answer holds.
func content(j *journal.Journal, form Form, ask *event.AskRequest) *event.Content {
	from := max(ask.From, 1)
	c := &event.Content{Journal: ask.Journal, From: from}
	r := j.Read(ask.Journal, from)
	defer r.Close()
	size := 0
	add := func(hash uint64, record []byte) bool {
		c.Hashes = append(c.Hashes, hash)
		if ask.Records {
			c.Records = append(c.Records, record)
			size += len(record)
		}
		return len(c.Hashes) < maxHashes && size < maxRecords
	}
	for next := from; next <= ask.To; {
		e, ok, err := r.TryNext()
		if !ok || err != nil || e.Seq > ask.To {
			e.Seq = ask.To + 1
		}
		for ; next < e.Seq; next++ { // damaged, or not there any more
			if !add(0, nil) {
				return c
			}
		}
		if next > ask.To {
			break
		}
		data := form.stored(e)
		next++
		if !add(xxhash.Sum64(data), data) {
			return c
		}
	}
	return c
}

// stored is a record as the store holds it.
func (f Form) stored(e journal.Entry) []byte {
	if f.canonical != nil {
		return f.canonical(e)
	}
	return f.message(e, "").Data
}

// canonicalEvent is a visit event with its number, its fields in their order.
func canonicalEvent(e journal.Entry) []byte {
	ev := &event.VisitEvent{}
	if err := proto.Unmarshal(e.Payload, ev); err != nil {
		return e.Payload
	}
	ev.Journal, ev.Seq = e.Journal, e.Seq
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(ev)
	if err != nil {
		return e.Payload
	}
	return data
}
