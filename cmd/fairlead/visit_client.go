package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/rolling"
)

// consoleURL turns host:port, or an address to listen on, into where to ask.
func consoleURL(s string) string {
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

func (v *visitClient) url(what string) string {
	return v.base + "/api/bays/" + url.PathEscape(v.bay) + "/" + what
}

// refusal is the console's answer when it did not take something.
type refusal struct {
	Error  string `json:"error"`
	Faults []struct{ Field, Value, Reason, Hint string }
}

// call sends a request and returns the body of a success. What the console
// refuses, and a bay that it does not know, is wrong use: exit 2.
func (v *visitClient) call(c *cobra.Command, method, what string, body []byte) ([]byte, error) {
	request, err := http.NewRequestWithContext(c.Context(), method, v.url(what), bytes.NewReader(body))
	if err != nil {
		return nil, &usageError{fmt.Errorf("--console: %w", err)}
	}
	request.Header.Set("Content-Type", "application/json")
	answer, err := v.http.Do(request)
	if err != nil {
		return nil, fmt.Errorf("the console does not answer: %w: is `fairlead console` (or `fairlead up`) running?", err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		return nil, fmt.Errorf("the console's answer: %w", err)
	}
	if answer.StatusCode == http.StatusOK {
		return text, nil
	}
	if v.json {
		fmt.Fprintln(c.OutOrStdout(), strings.TrimSpace(string(text)))
	}
	var r refusal
	if json.Unmarshal(text, &r) != nil || r.Error == "" {
		return nil, fmt.Errorf("the console answered %s at %s: is that a console of this version?", answer.Status, v.url(what))
	}
	problem := errors.New(r.Error)
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
		problem = errors.New("not taken: " + strings.Join(lines, "; "))
	}
	if answer.StatusCode == http.StatusServiceUnavailable {
		return nil, problem
	}
	return nil, &exitError{2, problem}
}

// write sends an event and says what was written.
func (v *visitClient) write(c *cobra.Command, ev *event.VisitEvent) error {
	body, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(ev)
	if err != nil {
		return fmt.Errorf("visit: %w", err)
	}
	text, err := v.call(c, http.MethodPost, "events", body)
	if err != nil {
		return err
	}
	if v.json {
		_, err := c.OutOrStdout().Write(text)
		return err
	}
	var a struct{ ID, Visit, Session, Trial string }
	if err := json.Unmarshal(text, &a); err != nil {
		return fmt.Errorf("the console's answer: %w", err)
	}
	fmt.Fprintf(c.OutOrStdout(), "%s: %s, event %s", v.bay, strings.ReplaceAll(event.KindOf(ev), "_", " "), a.ID)
	for _, given := range []struct{ what, id string }{{"visit", a.Visit}, {"session", a.Session}, {"trial", a.Trial}} {
		if given.id != "" {
			fmt.Fprintf(c.OutOrStdout(), ", %s %s", given.what, given.id)
		}
	}
	fmt.Fprintln(c.OutOrStdout())
	return nil
}

// state asks for the bay's state.
func (v *visitClient) state(c *cobra.Command) (*rolling.State, []byte, error) {
	text, err := v.call(c, http.MethodGet, "state", nil)
	if err != nil {
		return nil, nil, err
	}
	var s rolling.State
	if err := json.Unmarshal(text, &s); err != nil {
		return nil, nil, fmt.Errorf("the console's answer: %w: is it of this version?", err)
	}
	return &s, text, nil
}

// events asks for the bay's events in order.
func (v *visitClient) events(c *cobra.Command, query string) ([]*event.VisitEvent, []byte, error) {
	text, err := v.call(c, http.MethodGet, "events"+query, nil)
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
