package relay

import (
	"bytes"
	"fmt"
	"hash/crc32"
	"strconv"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
)

// Form is how a kind of record stands in the log.
type Form struct {
	// subject of a record, from its bytes.
	subject func(payload []byte) string
	// numbers of the message's fields that hold journal and seq.
	journalField, seqField protowire.Number
	// canonical is how the store writes a record anew; nil: it keeps the message.
	canonical func(journal.Entry) []byte
}

// Entries is the form of a bay's entries.
func Entries(place stream.Place) Form {
	subject := place.ShotsSubject()
	return Form{subject: func([]byte) string { return subject }, journalField: 4, seqField: 5}
}

// Events is the form of visit events: each goes to its own bay.
func Events() Form {
	return Form{journalField: 5, seqField: 6, canonical: canonicalEvent, subject: func(payload []byte) string {
		var ev event.VisitEvent
		if err := proto.Unmarshal(payload, &ev); err != nil {
			return "visits.unreadable.unreadable" // kept in sight, and nobody's
		}
		return stream.Place{Studio: ev.Studio, Bay: ev.Bay}.VisitsSubject()
	}}
}

// message is a record as the log carries it: the journal's payload with
// journal and seq added. Protobuf merges fields that stand later in the bytes,
// so nothing has to be decoded. A fresh suffix makes the broker store it again.
func (f Form) message(e journal.Entry, fresh string) stream.Message {
	data := make([]byte, 0, len(e.Payload)+len(e.Journal)+16)
	data = append(data, e.Payload...)
	data = f.appendEnding(data, e.Journal, e.Seq)
	return stream.Message{Subject: f.subject(e.Payload),
		ID: MessageID(e.Journal, e.Seq, e.Payload, fresh), Data: data}
}

// appendEnding adds what a message says after the record's bytes.
func (f Form) appendEnding(b []byte, journal string, seq uint64) []byte {
	b = protowire.AppendTag(b, f.journalField, protowire.BytesType)
	b = protowire.AppendString(b, journal)
	b = protowire.AppendTag(b, f.seqField, protowire.VarintType)
	return protowire.AppendVarint(b, seq)
}

// MessageID is the id by which the log's broker knows a record again; fresh makes
// another. It also tells records apart that claim one number, as those of a copied
// disk do: the broker must not take the second for a repeat of the first.
func MessageID(journal string, seq uint64, payload []byte, fresh string) string {
	return fmt.Sprintf("%s-%d-%08x%s", journal, seq, crc32.ChecksumIEEE(payload), fresh)
}

// Metrics are counted by publisher and repairer.
type Metrics struct {
	Published prometheus.Counter // acknowledged by the log
	Errors    prometheus.Counter // publishes that failed and are tried again
	Repaired  prometheus.Counter // published again for a repair
}

// Rewritten is a message of the log whose record's bytes are what change makes of
// them: its journal, its number and what made its id fresh stay, its sum is that of
// the new bytes. A message that no relay published is changed as it stands.
func (f Form) Rewritten(m stream.Message, change func(payload []byte) ([]byte, error)) (stream.Message, error) {
	parts := strings.SplitN(m.ID, "-", 4)
	var end []byte
	if len(parts) > 2 {
		if seq, err := strconv.ParseUint(parts[1], 10, 64); err == nil {
			end = f.appendEnding(nil, parts[0], seq)
		}
	}
	payload, ours := bytes.CutSuffix(m.Data, end)
	said, err := change(payload)
	if err != nil || bytes.Equal(said, payload) {
		return m, err
	}
	m.Data = append(said, end...)
	if ours && end != nil {
		parts[2] = fmt.Sprintf("%08x", crc32.ChecksumIEEE(said))
		m.ID = strings.Join(parts, "-")
	}
	return m, nil
}
