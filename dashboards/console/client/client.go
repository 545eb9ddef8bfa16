package client

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/rolling"
)

// Client speaks to the console about one bay. It may be used concurrently.
type Client struct {
	Base string // http://host:port
	Bay  string
	HTTP *http.Client
	// Token is of the hub's tools, for a console that asks who comes.
	Token string
}

// New is a client of the console at an address, as URL takes it.
func New(address, bay string) *Client {
	return &Client{Base: URL(address), Bay: bay, HTTP: &http.Client{Timeout: 15 * time.Second}}
}

// Refused says that the console did not take something.
type Refused struct {
	Body  []byte // its answer
	Wrong bool   // what was sent is wrong, or the bay is not known; else the console could not

	problem error
}

func (r *Refused) Error() string { return r.problem.Error() }

// EntryError says that what was entered is wrong; nothing was sent.
type EntryError struct{ err error }

func (e *EntryError) Error() string { return e.err.Error() }
func (e *EntryError) Unwrap() error { return e.err }

// WrongUse marks what another command line mends.
func (*EntryError) WrongUse() {}

// URL turns host:port, or an address to listen on, into where to ask.
func URL(s string) string {
	if strings.Contains(s, "://") {
		return strings.TrimRight(s, "/")
	}
	host, port, err := net.SplitHostPort(s)
	if err != nil {
		return "http://" + s
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return "http://" + net.JoinHostPort(host, port)
}

func (v *Client) url(what string) string {
	return v.Base + "/api/bays/" + url.PathEscape(v.Bay) + "/" + what
}

// refusal is the console's answer when it did not take something.
type refusal struct {
	Error  string `json:"error"`
	Faults []struct{ Field, Value, Reason, Hint string }
}

// call sends a request and returns the body of a success.
func (v *Client) call(ctx context.Context, method, what string, body []byte) ([]byte, error) {
	return v.callAt(ctx, method, v.url(what), body)
}

// exchange sends a body of a kind and returns the answer, whatever it says, with what
// stands in it.
func (v *Client) exchange(ctx context.Context, method, address, kind string, body []byte) (*http.Response, []byte, error) {
	request, err := http.NewRequestWithContext(ctx, method, address, bytes.NewReader(body))
	if err != nil {
		return nil, nil, &EntryError{fmt.Errorf("--console: %w", err)}
	}
	request.Header.Set("Content-Type", kind)
	v.show(request)
	answer, err := v.HTTP.Do(request)
	if err != nil {
		return nil, nil, fmt.Errorf("the console does not answer: %w: is `fairlead console` (or `fairlead up`) running?", err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		return nil, nil, fmt.Errorf("the console's answer: %w", err)
	}
	return answer, text, nil
}

func (v *Client) callAt(ctx context.Context, method, address string, body []byte) ([]byte, error) {
	answer, text, err := v.exchange(ctx, method, address, "application/json", body)
	if err != nil || answer.StatusCode == http.StatusOK {
		return text, err
	}
	return nil, refusedBy(answer, address, text)
}

// refusedBy is what an answer of no success says, for people.
func refusedBy(answer *http.Response, address string, text []byte) error {
	refused := &Refused{Body: bytes.TrimSpace(text)}
	var r refusal
	if json.Unmarshal(text, &r) != nil || r.Error == "" {
		refused.problem = fmt.Errorf("the console answered %s at %s: is that a console of this version?", answer.Status, address)
		return refused
	}
	refused.Wrong = answer.StatusCode != http.StatusServiceUnavailable
	refused.problem = errors.New(r.Error)
	if len(r.Faults) > 0 {
		var lines []string
		for _, f := range r.Faults {
			line := f.Reason
			if f.Value != "" {
				line = fmt.Sprintf("%q: %s", f.Value, line)
			}
			if f.Field != "" {
				line = f.Field + " " + line
			}
			if f.Hint != "" {
				line += ": " + f.Hint
			}
			lines = append(lines, strings.Replace(line, f.Field+" "+f.Reason, f.Field+": "+f.Reason, 1))
		}
		refused.problem = errors.New("not taken: " + strings.Join(lines, "; "))
	}
	return refused
}

// show shows who asks.
func (v *Client) show(r *http.Request) {
	if v.Token != "" {
		r.Header.Set("Authorization", "Bearer "+v.Token)
	}
}

// Written is the console's answer to an event.
type Written struct {
	ID, Visit, Session, Trial string

	Body []byte `json:"-"` // the answer as it came
	kind string
	bay  string
}

// Write sends an event, which is durable once Write returns.
func (v *Client) Write(ctx context.Context, ev *event.VisitEvent) (*Written, error) {
	body, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(ev)
	if err != nil {
		return nil, fmt.Errorf("visit: %w", err)
	}
	text, err := v.call(ctx, http.MethodPost, "events", body)
	if err != nil {
		return nil, err
	}
	w := &Written{Body: text, bay: v.Bay, kind: strings.ReplaceAll(event.KindOf(ev), "_", " ")}
	if err := json.Unmarshal(text, w); err != nil {
		return nil, fmt.Errorf("the console's answer: %w", err)
	}
	return w, nil
}

// WriteText says what was written, and under which ids.
func (w *Written) WriteText(to io.Writer) error {
	text := fmt.Sprintf("%s: %s, event %s", w.bay, w.kind, w.ID)
	for _, given := range []struct{ what, id string }{{"visit", w.Visit}, {"session", w.Session}, {"trial", w.Trial}} {
		if given.id != "" {
			text += fmt.Sprintf(", %s %s", given.what, given.id)
		}
	}
	_, err := fmt.Fprintln(to, text)
	return err
}

// State asks for the bay's state.
func (v *Client) State(ctx context.Context) (*rolling.State, []byte, error) {
	text, err := v.call(ctx, http.MethodGet, "state", nil)
	if err != nil {
		return nil, nil, err
	}
	var s rolling.State
	if err := json.Unmarshal(text, &s); err != nil {
		return nil, nil, fmt.Errorf("the console's answer: %w: is it of this version?", err)
	}
	return &s, text, nil
}

// Events asks for the bay's events in order.
func (v *Client) Events(ctx context.Context) ([]*event.VisitEvent, []byte, error) {
	text, err := v.call(ctx, http.MethodGet, "events", nil)
	if err != nil {
		return nil, nil, err
	}
	var out []*event.VisitEvent
	for line := range bytes.Lines(text) {
		ev := &event.VisitEvent{}
		if err := (protojson.UnmarshalOptions{DiscardUnknown: true}).Unmarshal(line, ev); err != nil {
			return nil, nil, fmt.Errorf("the console's answer: %w", err)
		}
		out = append(out, ev)
	}
	return out, text, nil
}
