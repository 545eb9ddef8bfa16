package gate

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/coreos/go-oidc/v3/oidc"
	"golang.org/x/oauth2"
)

// Provider is where a group of studios has its people sign in, by OpenID Connect.
// Who they are is the provider's to say; whether they have an account, and for
// what, stays the studio's.
type Provider struct {
	Issuer     string // https://…, as the provider's own documents say it
	Client     string // what the provider knows this console by
	SecretFile string // holds the client's secret, if it has one; nobody else may read it
	Claim      string // the claim that a manager enters as an account's sign-in name: email or preferred_username
	Name       string // what people call it
}

// Check says what is wrong with a provider's settings.
func (p Provider) Check() error {
	at, err := url.Parse(p.Issuer)
	switch {
	case err != nil || at.Host == "" || at.Scheme != "https" && !(at.Scheme == "http" && Loopback(at.Host)):
		return fmt.Errorf("issuer: %q: write the provider's address, as https://login.example.org", p.Issuer)
	case p.Client == "":
		return errors.New("client: \"\": write the name under which the provider knows this console")
	case p.Claim != "email" && p.Claim != "preferred_username":
		return fmt.Errorf("claim: %q: use email or preferred_username", p.Claim)
	}
	return nil
}

const (
	underwayFor  = 10 * time.Minute // from the page to sign in to the answer
	mostUnderway = 500
	askWithin    = 10 * time.Second
	stateCookie  = "fairlead_provider"
)

// underway is a sign-in that the provider has not answered yet.
type underway struct {
	nonce, verifier, to string
	until               time.Time
}

// elsewhere signs people in by a provider.
type elsewhere struct {
	Provider
	client *http.Client
	now    func() time.Time

	mu    sync.Mutex
	known *oidc.Provider // nil: not asked yet, or it did not answer
	all   map[string]underway
}

func newElsewhere(p *Provider, now func() time.Time) (*elsewhere, error) {
	if p == nil {
		return nil, nil
	}
	if err := p.Check(); err != nil {
		return nil, fmt.Errorf("console.provider: %w", err)
	}
	e := &elsewhere{Provider: *p, client: &http.Client{Timeout: askWithin}, now: now, all: map[string]underway{}}
	_, err := e.secret()
	return e, err
}

func (e *elsewhere) secret() (string, error) {
	if e.SecretFile == "" {
		return "", nil
	}
	if err := Closed(e.SecretFile); err != nil {
		return "", fmt.Errorf("secret of the provider: %w", err)
	}
	text, err := os.ReadFile(e.SecretFile)
	if err != nil {
		return "", fmt.Errorf("secret of the provider: %w", err)
	}
	return strings.TrimSpace(string(text)), nil
}

// reach asks the provider for its addresses, once.
func (e *elsewhere) reach(ctx context.Context) (*oidc.Provider, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.known != nil {
		return e.known, nil
	}
	known, err := oidc.NewProvider(oidc.ClientContext(context.WithoutCancel(ctx), e.client), e.Issuer)
	if err != nil {
		return nil, err
	}
	e.known = known
	return known, nil
}

// asking is how the provider is spoken to on behalf of a request.
func (e *elsewhere) asking(r *http.Request, secure bool) (*oauth2.Config, error) {
	known, err := e.reach(r.Context())
	if err != nil {
		return nil, err
	}
	secret, err := e.secret()
	if err != nil {
		return nil, err
	}
	back := url.URL{Scheme: "http", Host: r.Host, Path: "/gate/provider/back"} // the host is one of the console's own by now
	if secure {
		back.Scheme = "https"
	}
	scopes := []string{oidc.ScopeOpenID, "profile"}
	if e.Claim == "email" {
		scopes = append(scopes, "email")
	}
	return &oauth2.Config{ClientID: e.Client, ClientSecret: secret, Endpoint: known.Endpoint(), RedirectURL: back.String(),
		Scopes: scopes}, nil
}

// start takes note of a sign-in that begins.
func (e *elsewhere) start(to string) (state string, u underway, err error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	now := e.now()
	for s, u := range e.all {
		if u.until.Before(now) {
			delete(e.all, s)
		}
	}
	if len(e.all) >= mostUnderway {
		return "", u, errors.New("too many people sign in at once: try again in a few minutes")
	}
	state = rand.Text()
	u = underway{rand.Text(), oauth2.GenerateVerifier(), to, now.Add(underwayFor)}
	e.all[state] = u
	return state, u, nil
}

// finish gives out what is known of a sign-in, once.
func (e *elsewhere) finish(state string) (underway, bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	u, ok := e.all[state]
	delete(e.all, state)
	return u, ok && u.until.After(e.now())
}

// said is what a provider says of somebody.
type said struct {
	Email    string `json:"email"`
	Verified bool   `json:"email_verified"`
	Username string `json:"preferred_username"`
	AuthTime int64  `json:"auth_time"`
}

// who asks the provider whom a code stands for.
func (e *elsewhere) who(r *http.Request, secure bool, u underway) (login, subject string, err error) {
	asking, err := e.asking(r, secure)
	if err != nil {
		return "", "", err
	}
	ctx := oidc.ClientContext(r.Context(), e.client)
	token, err := asking.Exchange(ctx, r.FormValue("code"), oauth2.VerifierOption(u.verifier))
	if err != nil {
		return "", "", err
	}
	raw, _ := token.Extra("id_token").(string)
	known, err := e.reach(ctx)
	if err != nil {
		return "", "", err
	}
	id, err := known.Verifier(&oidc.Config{ClientID: e.Client, Now: e.now}).Verify(ctx, raw)
	if err != nil {
		return "", "", err
	}
	var s said
	switch err := id.Claims(&s); {
	case err != nil:
		return "", "", err
	case sumOf(id.Nonce) != sumOf(u.nonce):
		return "", "", errors.New("its answer is to another question")
	case s.AuthTime != 0 && e.now().Sub(time.Unix(s.AuthTime, 0)) > underwayFor:
		return "", "", errors.New("it did not ask who it is: whoever used this browser before would be signed in")
	case e.Claim == "email" && !s.Verified:
		return "", "", errors.New("it has not made sure that the address is theirs")
	case e.Claim == "email":
		login = s.Email
	default:
		login = s.Username
	}
	if login == "" || id.Subject == "" {
		return "", "", fmt.Errorf("it does not say %s", e.Claim)
	}
	return login, sumOf(id.Issuer + " " + id.Subject), nil
}
