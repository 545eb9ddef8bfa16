package expose

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"testing"
)

func TestServe(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	log := slog.New(slog.DiscardHandler)
	r := NewRegistry("collect", "test")
	addr, err := Serve(ctx, "127.0.0.1:0", r, log)
	if err != nil {
		t.Fatal(err)
	}
	resp, err := http.Get("http://" + addr + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, _ := io.ReadAll(resp.Body)
	if !strings.Contains(string(text), `fairlead_build_info{process="collect",version="test"} 1`) {
		t.Errorf("%s", text)
	}
	if _, err := Serve(ctx, addr, r, log); err == nil {
		t.Error("two servers on one address")
	}
}
