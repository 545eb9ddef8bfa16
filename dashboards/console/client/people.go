package client

import (
	"context"
	"fmt"
	"net/http"
	"net/url"

	"fairlead/ingest/contract/event"
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

// WriteIn writes an event in a bay, which need not be the client's.
func (v *Client) WriteIn(ctx context.Context, bay string, ev *event.VisitEvent) error {
	other := *v
	other.Bay = bay
	_, err := other.Write(ctx, ev)
	return err
}
