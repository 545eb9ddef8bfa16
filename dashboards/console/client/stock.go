package client

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"time"

	"google.golang.org/protobuf/encoding/protojson"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/stock"
)

// Level is how many pieces of a part there are, as the console tells it.
type Level struct {
	Code    string `json:"code"`
	On      int64  `json:"on"`
	Held    int64  `json:"held"`
	Free    int64  `json:"free"`
	Least   int64  `json:"least"`
	Counted bool   `json:"counted"`
	Short   bool   `json:"short"`
}

// Stock is the studio's catalogue and shelf.
type Stock struct {
	Body   []byte // as the console answered
	Shelf  *stock.Shelf
	Levels map[string]Level
}

// Stock asks for the catalogue and what lies there.
func (v *Client) Stock(ctx context.Context) (*Stock, error) {
	body, err := v.callAt(ctx, http.MethodGet, v.Base+"/api/stock", nil)
	if err != nil {
		return nil, err
	}
	var told struct {
		Catalogue json.RawMessage   `json:"catalogue"`
		Levels    []Level           `json:"levels"`
		Tests     []json.RawMessage `json:"test_clubs"`
	}
	if err := json.Unmarshal(body, &told); err != nil {
		return nil, fmt.Errorf("the console's answer can't be read: %w", err)
	}
	said := []stock.Said{{Listed: &event.PartsListed{}}}
	err = protojson.Unmarshal(told.Catalogue, said[0].Listed)
	for _, one := range told.Tests {
		t := &event.TestClubPlaced{}
		err = errors.Join(err, protojson.Unmarshal(one, t))
		said = append(said, stock.Said{Test: t})
	}
	if err != nil {
		return nil, fmt.Errorf("the console's answer can't be read: %w", err)
	}
	out := &Stock{Body: body, Shelf: stock.NewShelf(said, nil), Levels: map[string]Level{}}
	for _, l := range told.Levels {
		out.Levels[l.Code] = l
	}
	return out, nil
}

// StockList asks for the catalogue as a price list.
func (v *Client) StockList(ctx context.Context) ([]byte, error) {
	return v.callAt(ctx, http.MethodGet, v.Base+"/stock.csv", nil)
}

// WriteText lists the parts with how many there are.
func (s *Stock) WriteText(w io.Writer) error {
	fmt.Fprintf(w, "%-14s %-8s %-30s %12s %6s %6s %6s\n", "code", "kind", "part", "price", "there", "held", "free")
	for _, p := range s.Shelf.Parts() {
		l := s.Levels[p.GetCode()]
		there, free, short := "?", "?", ""
		if l.Counted {
			there, free = fmt.Sprint(l.On), fmt.Sprint(l.Free)
		}
		if l.Short {
			short = "  short"
		}
		fmt.Fprintf(w, "%-14s %-8s %-30s %12s %6s %6d %6s%s\n", p.GetCode(), stock.KindWord(p.GetKind()), stock.Name(p),
			stock.Price(p.GetPrice(), p.GetCurrency()), there, l.Held, free, short)
	}
	for _, t := range s.Shelf.TestClubs() {
		where := t.GetBay()
		if where == "" {
			where = "workshop"
		}
		fmt.Fprintf(w, "test club %s: %s %s, %s\n", t.GetClubId(), t.GetCategory(), t.GetClub(), where)
	}
	return nil
}

// ImportStock sends a price list; dry writes nothing. A list with faults is
// answered with them, and nothing of it was taken.
func (v *Client) ImportStock(ctx context.Context, list []byte, dry bool) (c stock.Change, err error) {
	address := v.Base + "/api/stock"
	if dry {
		address += "?dry=1"
	}
	answer, text, err := v.exchange(ctx, http.MethodPost, address, "text/csv", list)
	if err != nil {
		return c, err
	}
	if err := json.Unmarshal(text, &c); err != nil || answer.StatusCode != http.StatusOK && !c.Failed() {
		return c, fmt.Errorf("the console answers %s: %s", answer.Status, text)
	}
	return c, nil
}

// UndoStock takes back what was said of the shelf last, or the event that is named,
// and returns what it was.
func (v *Client) UndoStock(ctx context.Context, id string) (string, error) {
	address := v.Base + "/api/stock/undo"
	in := url.Values{}
	if id != "" {
		in.Set("event", id)
	}
	answer, body, err := v.exchange(ctx, http.MethodPost, address, "application/x-www-form-urlencoded", []byte(in.Encode()))
	if err != nil {
		return "", err
	}
	if answer.StatusCode != http.StatusOK {
		return "", refusedBy(answer, address, body)
	}
	var told struct {
		Event string `json:"event"`
		Said  string `json:"taken_back"`
	}
	if err := json.Unmarshal(body, &told); err != nil {
		return "", fmt.Errorf("the console's answer can't be read: %w", err)
	}
	return cmp.Or(told.Said, told.Event), nil
}

// paperWait is for papers that a browser prints, one at a time.
const paperWait = time.Minute

// OrderPaper asks for an order's paper in a form: txt, json or pdf.
func (v *Client) OrderPaper(ctx context.Context, number, form string) ([]byte, error) {
	patient, asks := *v, *v.HTTP
	asks.Timeout = paperWait
	patient.HTTP = &asks
	return patient.callAt(ctx, http.MethodGet, v.Base+"/orders/"+url.PathEscape(number)+"/paper."+form, nil)
}
