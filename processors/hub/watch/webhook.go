package watch

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
)

// Webhook posts messages as JSON: the fields of Message, text among them, which
// many chat services show as it is. With a secret the header
// X-Fairlead-Signature holds "sha256=" and the HMAC-SHA256 of the body, in hex.
type Webhook struct {
	URL    string
	Secret []byte
	Client *http.Client // nil: the usual one
}

// Name is the sender's name.
func (h Webhook) Name() string { return "webhook" }

// Send posts a message; an answer other than 2xx is an error with its words.
func (h Webhook) Send(ctx context.Context, m Message) error {
	body, err := json.Marshal(m)
	if err != nil {
		return err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, h.URL, bytes.NewReader(body))
	if err != nil {
		return fmt.Errorf("webhook: %w", err)
	}
	r.Header.Set("Content-Type", "application/json")
	if len(h.Secret) > 0 {
		mac := hmac.New(sha256.New, h.Secret)
		mac.Write(body)
		r.Header.Set("X-Fairlead-Signature", "sha256="+hex.EncodeToString(mac.Sum(nil)))
	}
	client := h.Client
	if client == nil {
		client = http.DefaultClient
	}
	resp, err := client.Do(r)
	if err != nil {
		return fmt.Errorf("webhook: %w", err)
	}
	defer resp.Body.Close()
	if resp.StatusCode/100 != 2 {
		said, _ := io.ReadAll(io.LimitReader(resp.Body, 200))
		return fmt.Errorf("webhook: %s answers %s: %s", r.URL.Redacted(), resp.Status, bytes.TrimSpace(said))
	}
	return nil
}
