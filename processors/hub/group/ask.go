package group

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"fmt"
	"io"

	"github.com/nats-io/nats.go"

	"fairlead/ingest/log/stream"
)

// What a studio asks its head office beside marks (stream.GroupSubject).
const (
	AskSums      = "sums"      // []store.DaySum: what its rows amount to there
	AskBlocks    = "blocks"    // []store.BlockSum: the same by journal and numbers
	AskForgotten = "forgotten" // map of pseudonyms to when they were forgotten there
	AskPriors    = "priors"    // which answers of its fleet there are (processors/ask/answers)
	AskPrior     = "prior"     // the answer whose id the question holds
)

// Refusal is an answer that says why there is none.
type Refusal struct {
	Error string `json:"error"`
}

// RefusedError is the head office's refusal.
type RefusedError struct{ why string }

func (e *RefusedError) Error() string { return "the head office says: " + e.why }

// mostUnpacked bounds what an answer may become.
const mostUnpacked = 64 << 20

// Pack writes an answer: JSON, packed, for a message holds a megabyte.
func Pack(v any) ([]byte, error) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if err := json.NewEncoder(z).Encode(v); err != nil {
		return nil, fmt.Errorf("answer: %w", err)
	}
	if err := z.Close(); err != nil {
		return nil, fmt.Errorf("answer: %w", err)
	}
	return b.Bytes(), nil
}

// unpack reads what Pack wrote.
func unpack(data []byte, into any) error {
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return fmt.Errorf("the head office's answer: %w", err)
	}
	text, err := io.ReadAll(io.LimitReader(z, mostUnpacked))
	if err != nil {
		return fmt.Errorf("the head office's answer: %w", err)
	}
	var no Refusal
	if json.Unmarshal(text, &no) == nil && no.Error != "" {
		return &RefusedError{no.Error}
	}
	if err := json.Unmarshal(text, into); err != nil {
		return fmt.Errorf("the head office's answer: %w", err)
	}
	return nil
}

// Ask puts one of the questions above for a studio.
func Ask[T any](ctx context.Context, nc *nats.Conn, studio, what string) (told T, err error) {
	return AskFor[T](ctx, nc, studio, what, "")
}

// AskFor puts one of them that names something.
func AskFor[T any](ctx context.Context, nc *nats.Conn, studio, what, name string) (told T, err error) {
	m, err := nc.RequestWithContext(ctx, stream.GroupSubject(studio, what), []byte(name))
	if err != nil {
		return told, fmt.Errorf("the head office does not answer: %w", err)
	}
	return told, unpack(m.Data, &told)
}
