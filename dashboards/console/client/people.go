package client

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/erase"
)

// EraseName takes the name out of the file through the console, which holds it
// in memory too. A name that is gone already is well.
func (v *Client) EraseName(ctx context.Context, id string) error {
	request, err := http.NewRequestWithContext(ctx, http.MethodDelete, v.Base+"/api/people/"+url.PathEscape(id), nil)
	if err != nil {
		return &EntryError{fmt.Errorf("--console: %w", err)}
	}
	v.show(request)
	answer, err := v.HTTP.Do(request)
	if err != nil {
		return fmt.Errorf("the console does not answer: %w: is `fairlead console` (or `fairlead up`) running? Nothing was erased", err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK && answer.StatusCode != http.StatusNotFound {
		return fmt.Errorf("the console answered %s when asked to erase the name: nothing was erased", answer.Status)
	}
	return nil
}

// AskErasure asks for a person's erasure by the name on file, empty for one of
// whom there is none, and says when it is due.
func (v *Client) AskErasure(ctx context.Context, player, name string) (time.Time, error) {
	if name == "" {
		name = player
	}
	var r erase.Request
	err := v.erasure(ctx, http.MethodPost, "", map[string]string{"player": player, "name": name}, &r)
	return r.Due, err
}

// KeepPerson takes an erasure back.
func (v *Client) KeepPerson(ctx context.Context, player string) error {
	return v.erasure(ctx, http.MethodDelete, "/"+url.PathEscape(player), nil, &erase.Request{})
}

// Erased says that an erasure was carried out.
func (v *Client) Erased(ctx context.Context, player string) error {
	return v.erasure(ctx, http.MethodPost, "/"+url.PathEscape(player)+"/done", nil, &erase.Request{})
}

// Erasures lists what is asked for.
func (v *Client) Erasures(ctx context.Context) (all []erase.Request, err error) {
	return all, v.erasure(ctx, http.MethodGet, "", nil, &all)
}

func (v *Client) erasure(ctx context.Context, method, what string, in, out any) error {
	body, err := json.Marshal(in)
	if err != nil {
		return err
	}
	text, err := v.callAt(ctx, method, v.Base+"/api/erasures"+what, body)
	if err != nil {
		return err
	}
	return json.Unmarshal(text, out)
}

// WriteIn writes an event in a bay, which need not be the client's.
func (v *Client) WriteIn(ctx context.Context, bay string, ev *event.VisitEvent) error {
	other := *v
	other.Bay = bay
	_, err := other.Write(ctx, ev)
	return err
}
