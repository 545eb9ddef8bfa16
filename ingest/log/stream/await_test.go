package stream

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// onWarning is a log that does something at each warning.
type onWarning struct {
	slog.Handler
	do func(slog.Record)
}

func (h onWarning) Handle(_ context.Context, r slog.Record) error {
	if r.Level == slog.LevelWarn {
		h.do(r)
	}
	return nil
}

func (h onWarning) Enabled(context.Context, slog.Level) bool { return true }

// A folder that refuses writes at first is waited for, with the reason said; the
// broker then runs as if nothing had been.
func TestBrokerWaitsForItsFolder(t *testing.T) {
	place := filepath.Join(t.TempDir(), "place")
	if err := os.WriteFile(place, nil, 0o600); err != nil { // where the folder shall be
		t.Fatal(err)
	}
	said := 0
	log := slog.New(onWarning{slog.DiscardHandler, func(r slog.Record) {
		if strings.Contains(r.Message, "waits for its folder") {
			if said++; said == 2 {
				os.Remove(place)
			}
		}
	}})
	b, err := AwaitBroker(t.Context(), BrokerOptions{Listen: "127.0.0.1:0", DataDir: filepath.Join(place, "broker"), Logger: log}, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	b.Stop()
	if said != 2 {
		t.Errorf("it said %d times what it waits for", said)
	}
}

func TestBrokerSaysWhyItsFolderFails(t *testing.T) {
	place := filepath.Join(t.TempDir(), "place")
	if err := os.WriteFile(place, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	o := BrokerOptions{Listen: "127.0.0.1:0", DataDir: filepath.Join(place, "broker")}
	_, err := AwaitBroker(t.Context(), o, 0)
	var folder *FolderError
	if !errors.As(err, &folder) || !strings.Contains(err.Error(), "not a directory") || !strings.Contains(err.Error(), "check that") {
		t.Errorf("%v", err)
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := AwaitBroker(ended, o, time.Hour); !errors.Is(err, context.Canceled) || !errors.As(err, &folder) {
		t.Errorf("%v", err)
	}
	// What waiting does not mend is said at once.
	o.Listen = "nowhere"
	if _, err := AwaitBroker(t.Context(), o, time.Hour); err == nil || errors.As(err, &folder) {
		t.Errorf("%v", err)
	}
}
