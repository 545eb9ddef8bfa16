package watch

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-smtp"
)

var news = func() Message {
	m := Message{Studio: "harbour-row", At: time.Unix(1_800_000_000, 0), Began: []Known{{Alarm: silent, Since: time.Unix(1_799_999_970, 0)}}}
	m.Text = m.words()
	return m
}()

func TestTheWebhookIsSignedAndItsAnswerRead(t *testing.T) {
	var body []byte
	var signature string
	status := http.StatusNoContent
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ = io.ReadAll(r.Body)
		signature = r.Header.Get("X-Fairlead-Signature")
		w.WriteHeader(status)
		if status != http.StatusNoContent {
			io.WriteString(w, "who are you?")
		}
	}))
	defer server.Close()
	h := Webhook{URL: server.URL, Secret: []byte("between us")}
	if err := h.Send(t.Context(), news); err != nil {
		t.Fatal(err)
	}
	mac := hmac.New(sha256.New, h.Secret)
	mac.Write(body)
	if want := "sha256=" + hex.EncodeToString(mac.Sum(nil)); signature != want {
		t.Errorf("signed %s, want %s", signature, want)
	}
	var got Message
	if err := json.Unmarshal(body, &got); err != nil || got.Text != news.Text || len(got.Began) != 1 || got.Began[0].What != "silent" {
		t.Errorf("%s: %v", body, err)
	}
	status = http.StatusForbidden
	if err := h.Send(t.Context(), news); err == nil || !strings.Contains(err.Error(), "who are you?") {
		t.Errorf("a refusal is %v", err)
	}
}

// box is a mail server that keeps what it is given.
type box struct {
	mu      sync.Mutex
	from    string
	to      []string
	letters []string
}

func (b *box) NewSession(*smtp.Conn) (smtp.Session, error) { return b, nil }
func (b *box) Reset()                                      {}
func (b *box) Logout() error                               { return nil }

func (b *box) Mail(from string, _ *smtp.MailOptions) error {
	b.from = from
	return nil
}

func (b *box) Rcpt(to string, _ *smtp.RcptOptions) error {
	if strings.HasPrefix(to, "nobody") {
		return errors.New("no such box")
	}
	b.to = append(b.to, to)
	return nil
}

func (b *box) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	b.mu.Lock()
	defer b.mu.Unlock()
	b.letters = append(b.letters, string(text))
	return err
}

func TestMailGoesToARealServer(t *testing.T) {
	b := &box{}
	server := smtp.NewServer(b)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	go server.Serve(l)
	defer server.Close()
	m := Mail{Server: l.Addr().String(), TLS: "none", From: "hub@harbour-row.example",
		To: []string{"ops@harbour-row.example", "desk@harbour-row.example"}}
	if err := m.Check(); err != nil {
		t.Fatal(err)
	}
	if err := m.Send(t.Context(), news); err != nil {
		t.Fatal(err)
	}
	if len(b.letters) != 1 || len(b.to) != 2 || b.from != m.From {
		t.Fatalf("%d letters from %s to %v", len(b.letters), b.from, b.to)
	}
	for _, want := range []string{"Subject: harbour-row: bay north: silent", "bay north, silent (critical)", "nothing heard"} {
		if !strings.Contains(b.letters[0], want) {
			t.Errorf("the letter lacks %q:\n%s", want, b.letters[0])
		}
	}
	m.To = []string{"nobody@harbour-row.example"}
	if err := m.Send(t.Context(), news); err == nil {
		t.Error("a refused receiver is no error")
	}
	m.TLS, m.To = "starttls", []string{"ops@harbour-row.example"}
	if err := m.Send(t.Context(), news); err == nil {
		t.Error("a server without TLS was trusted")
	}
}

func TestMailSettingsThatCantBe(t *testing.T) {
	good := Mail{Server: "mail.example:587", From: "hub@harbour-row.example", To: []string{"ops@harbour-row.example"}}
	for name, change := range map[string]func(*Mail){
		"server":  func(m *Mail) { m.Server = "mail.example" },
		"port":    func(m *Mail) { m.Server = "mail.example:smtp" },
		"tls":     func(m *Mail) { m.TLS = "perhaps" },
		"sender":  func(m *Mail) { m.From = "the hub" },
		"nobody":  func(m *Mail) { m.To = []string{""} },
		"no word": func(m *Mail) { m.To = []string{"ops at harbour-row"} },
	} {
		m := good
		change(&m)
		if err := m.Check(); err == nil {
			t.Errorf("%s: %+v was taken", name, m)
		}
	}
	if err := good.Check(); err != nil {
		t.Error(err)
	}
}
