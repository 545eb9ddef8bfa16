package gate

import (
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
)

// idp is a provider that says of whoever comes what a test has it say.
type idp struct {
	*httptest.Server
	t       *testing.T
	key     *rsa.PrivateKey
	claims  map[string]any // of the next answer, over what is usual
	asked   url.Values     // by the browser that was sent there last
	secrets []string       // shown by the console
}

func newIDP(t *testing.T) *idp {
	key, err := rsa.GenerateKey(rand.Reader, 2048)
	if err != nil {
		t.Fatal(err)
	}
	p := &idp{t: t, key: key}
	mux := http.NewServeMux()
	answer := func(w http.ResponseWriter, v any) {
		w.Header().Set("Content-Type", "application/json")
		_ = json.NewEncoder(w).Encode(v)
	}
	mux.HandleFunc("GET /.well-known/openid-configuration", func(w http.ResponseWriter, _ *http.Request) {
		answer(w, map[string]any{"issuer": p.URL, "authorization_endpoint": p.URL + "/in", "token_endpoint": p.URL + "/token",
			"jwks_uri": p.URL + "/keys", "id_token_signing_alg_values_supported": []string{"RS256"}})
	})
	mux.HandleFunc("GET /keys", func(w http.ResponseWriter, _ *http.Request) {
		answer(w, jose.JSONWebKeySet{Keys: []jose.JSONWebKey{{Key: key.Public(), KeyID: "k", Algorithm: "RS256", Use: "sig"}}})
	})
	mux.HandleFunc("POST /token", func(w http.ResponseWriter, r *http.Request) {
		_, secret, _ := r.BasicAuth()
		p.secrets = append(p.secrets, secret)
		sum := sha256.Sum256([]byte(r.PostFormValue("code_verifier")))
		if r.PostFormValue("code") != "good" || base64.RawURLEncoding.EncodeToString(sum[:]) != p.asked.Get("code_challenge") {
			http.Error(w, `{"error": "invalid_grant"}`, http.StatusBadRequest)
			return
		}
		answer(w, map[string]any{"access_token": "x", "token_type": "Bearer", "id_token": p.token()})
	})
	p.Server = httptest.NewServer(mux)
	t.Cleanup(p.Close)
	return p
}

func (p *idp) token() string {
	now := time.Now()
	claims := map[string]any{"iss": p.URL, "aud": "console", "sub": "s-1", "exp": now.Add(time.Hour).Unix(), "iat": now.Unix(),
		"nonce": p.asked.Get("nonce"), "email": "jo@studio.example", "email_verified": true}
	for name, value := range p.claims {
		claims[name] = value
	}
	text, _ := json.Marshal(claims)
	signer, err := jose.NewSigner(jose.SigningKey{Algorithm: jose.RS256, Key: jose.JSONWebKey{Key: p.key, KeyID: "k"}}, nil)
	if err != nil {
		p.t.Error(err)
		return ""
	}
	signed, err := signer.Sign(text)
	if err != nil {
		p.t.Error(err)
		return ""
	}
	out, _ := signed.CompactSerialize()
	return out
}

// sent is where the console sends a browser that wants to sign in there.
func (p *idp) sent(b *browser, to string) (state string) {
	p.t.Helper()
	where, _ := b.want(http.StatusSeeOther, http.MethodGet, "/gate/provider?to="+url.QueryEscape(to), nil)
	at, err := url.Parse(where)
	if err != nil || !strings.HasPrefix(where, p.URL+"/in?") {
		p.t.Fatal(where, err)
	}
	p.asked = at.Query()
	return p.asked.Get("state")
}

func back(state string) string {
	return "/gate/provider/back?code=good&state=" + url.QueryEscape(state)
}

func providedRig(t *testing.T) (*rig, *idp) {
	p := newIDP(t)
	secret := filepath.Join(t.TempDir(), "secret")
	if err := os.WriteFile(secret, []byte("of the client\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	return newRigOf(t, Options{Listen: "127.0.0.1:0", Provider: &Provider{Issuer: p.URL, Client: "console", SecretFile: secret, Claim: "email",
		Name: "the group's account"}}), p
}

func TestPeopleSignInByTheProvider(t *testing.T) {
	r, p := providedRig(t)
	jo := r.account("Jo Marsh", "", Manager)
	r.account("Ann Reed", "", Fitter)
	b := r.browser()
	if _, _, text := b.get("/gate/in?to=/people"); !strings.Contains(text, "Sign in by the group&#39;s account") {
		t.Errorf("the page to sign in: %s", text)
	}
	// Nobody has the sign-in name yet.
	b.want(http.StatusUnprocessableEntity, http.MethodGet, back(p.sent(b, "/people")), nil)
	manager := r.browser()
	manager.signIn("Jo Marsh")
	manager.want(http.StatusSeeOther, http.MethodPost, "/gate/people/"+jo+"/login", url.Values{"login": {"Jo@studio.example"}})
	state := p.sent(b, "/people")
	if p.asked.Get("prompt") != "login" || p.asked.Get("redirect_uri") != r.url+"/gate/provider/back" {
		t.Errorf("asked: %v", p.asked)
	}
	if where, _ := b.want(http.StatusSeeOther, http.MethodGet, back(state), nil); where != "/people" {
		t.Errorf("goes on to %s", where)
	}
	if code, _, text := b.get("/people"); code != http.StatusOK || !strings.Contains(text, "reached by "+jo) {
		t.Errorf("signed in as %d %s", code, text)
	}
	if !slices.Contains(p.secrets, url.QueryEscape("of the client")) && !slices.Contains(p.secrets, "of the client") {
		t.Errorf("the client showed %v", p.secrets)
	}
	if !slices.ContainsFunc(r.trail(), func(line string) bool { return line == jo+" signed in by the provider" }) {
		t.Errorf("trail: %v", r.trail())
	}
	// An answer counts once, and only in the browser that asked.
	b.want(http.StatusUnprocessableEntity, http.MethodGet, back(state), nil)
	state = p.sent(b, "/")
	r.browser().want(http.StatusUnprocessableEntity, http.MethodGet, back(state), nil)
	r.later(underwayFor + time.Second)
	b.want(http.StatusUnprocessableEntity, http.MethodGet, back(state), nil)
	// Who is revoked here gets in by no provider.
	r.later(-underwayFor - time.Second)
	if _, err := r.gate.book.Assign("Ann Reed", []Role{Manager}); err != nil {
		t.Fatal(err)
	}
	if _, err := r.gate.book.Revoke(jo, r.gate.now()); err != nil {
		t.Fatal(err)
	}
	b.want(http.StatusUnprocessableEntity, http.MethodGet, back(p.sent(b, "/")), nil)
}

// What a provider, or who stands for it, may not say.
func TestTheProvidersAnswerIsChecked(t *testing.T) {
	r, p := providedRig(t)
	jo := r.account("Jo Marsh", "", Manager)
	if _, err := r.gate.book.Provided(jo, "jo@studio.example", r.gate.now()); err != nil {
		t.Fatal(err)
	}
	other, err := rsa.GenerateKey(rand.Reader, 2048)
	if err != nil {
		t.Fatal(err)
	}
	own := p.key
	try := func(what string, claims map[string]any, want int) {
		t.Helper()
		b := r.browser()
		p.claims = claims
		if code, _, text := b.get(back(p.sent(b, "/"))); code != want {
			t.Errorf("%s: %d, want %d: %s", what, code, want, text)
		}
		r.later(time.Minute) // the gate bounds tries
	}
	for what, claims := range map[string]map[string]any{
		"another client's": {"aud": "another"}, "another issuer's": {"iss": "https://login.example.org"},
		"over":             {"exp": time.Now().Add(-time.Hour).Unix()},
		"another question": {"nonce": "n"}, "an address nobody looked at": {"email_verified": false},
		"nobody asked who it is": {"auth_time": time.Now().Add(-time.Hour).Unix()}, "no address": {"email": ""},
		"no subject": {"sub": ""},
	} {
		try(what, claims, http.StatusUnprocessableEntity)
	}
	p.key = other
	try("another's signature", nil, http.StatusUnprocessableEntity)
	p.key = own
	try("as it should be", nil, http.StatusSeeOther)
	try("the same name, given to another", map[string]any{"sub": "s-2"}, http.StatusUnprocessableEntity)
	try("the same again", nil, http.StatusSeeOther)

	b := r.browser()
	b.want(http.StatusUnprocessableEntity, http.MethodGet, "/gate/provider/back?error=access_denied&state="+p.sent(b, "/"), nil)
	p.Close()
	b.want(http.StatusSeeOther, http.MethodGet, "/gate/provider", nil) // its addresses are known
	b.want(http.StatusUnprocessableEntity, http.MethodGet, "/gate/provider/back?code=good&state=none", nil)
	b.signIn("Jo Marsh") // the password goes on
}

func TestAProvidersSettingsAreChecked(t *testing.T) {
	open := filepath.Join(t.TempDir(), "secret")
	if err := os.WriteFile(open, []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	for want, p := range map[string]Provider{
		"issuer":  {Issuer: "http://login.example.org", Client: "c", Claim: "email"},
		"client":  {Issuer: "https://login.example.org", Claim: "email"},
		"claim":   {Issuer: "https://login.example.org", Client: "c", Claim: "name"}, // which people change themselves
		"chmod":   {Issuer: "https://login.example.org", Client: "c", Claim: "email", SecretFile: open},
		"no such": {Issuer: "https://login.example.org", Client: "c", Claim: "email", SecretFile: open + "2"},
	} {
		if _, err := newElsewhere(&p, time.Now); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %s", p, err, want)
		}
	}
}
