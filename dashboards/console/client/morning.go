package client

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"time"

	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/ingest/contract/event"
)

// Mornings are the checks of bays with the studio's reference club, oldest first.
type Mornings struct {
	Body []byte // as the console answered
	All  []Morning
}

// Morning is one check of one bay.
type Morning struct {
	Bay   string `json:"bay"`
	At    int64  `json:"at_unix_ns"`
	Word  string `json:"word"` // go, look, stop, its past begins
	Check *event.BayChecked
}

// UnmarshalJSON reads it as the console writes it.
func (m *Morning) UnmarshalJSON(b []byte) error {
	type plain Morning
	told := struct {
		*plain
		Check json.RawMessage `json:"check"`
	}{plain: (*plain)(m)}
	if err := json.Unmarshal(b, &told); err != nil {
		return err
	}
	m.Check = &event.BayChecked{}
	return protojson.Unmarshal(told.Check, m.Check)
}

// Mornings asks for the checks.
func (v *Client) Mornings(ctx context.Context) (*Mornings, error) {
	body, err := v.callAt(ctx, http.MethodGet, v.Base+"/api/morning", nil)
	if err != nil {
		return nil, err
	}
	return readMornings(body)
}

// Check begins a check of the client's bay ("begin", with club, ball and close), or
// judges what was hit ("judge").
func (v *Client) Check(ctx context.Context, act string, in url.Values) (*Mornings, error) {
	address := v.Base + "/api/morning/" + url.PathEscape(v.Bay) + "/" + act
	answer, body, err := v.exchange(ctx, http.MethodPost, address, "application/x-www-form-urlencoded", []byte(in.Encode()))
	if err != nil {
		return nil, err
	}
	if answer.StatusCode != http.StatusOK {
		return nil, refusedBy(answer, address, body)
	}
	return readMornings(body)
}

func readMornings(body []byte) (*Mornings, error) {
	m := &Mornings{Body: body}
	if err := json.Unmarshal(body, &m.All); err != nil {
		return nil, fmt.Errorf("the console's answer can't be read: %w", err)
	}
	return m, nil
}

// WriteText tells of each bay its last check, and what in it differs from its past.
func (m *Mornings) WriteText(w io.Writer) error {
	last := map[string]int{}
	for i, c := range m.All {
		last[c.Bay] = i
	}
	if len(m.All) == 0 {
		_, err := fmt.Fprintln(w, "no bay was checked yet: fairlead morning begin")
		return err
	}
	for i, c := range m.All {
		if last[c.Bay] != i {
			continue
		}
		fmt.Fprintf(w, "%-10s %-15s %s, %s, ball %s\n", c.Bay, c.Word, time.Unix(0, c.At).Format("2006-01-02 15:04"), c.Check.GetClubId(),
			c.Check.GetBall())
		for _, f := range c.Check.GetFields() {
			bias := "–"
			if f.GetBiasSd() > 0 {
				bias = fmt.Sprintf("%+.4g ± %.2g", f.GetBias(), 1.96*f.GetBiasSd())
			}
			fmt.Fprintf(w, "  %-22s %10.5g  %-20s %s\n", f.GetField(), f.GetMean(), bias, checkWord(f.GetJudgement()))
		}
	}
	return nil
}

func checkWord(j event.CheckJudgement) string {
	return map[event.CheckJudgement]string{event.CheckJudgement_CHECK_GO: "go", event.CheckJudgement_CHECK_LOOK: "look",
		event.CheckJudgement_CHECK_STOP: "stop"}[j]
}
