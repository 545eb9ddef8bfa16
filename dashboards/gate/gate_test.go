package gate

import (
	"errors"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	argonMemory = 64
	goleak.VerifyTestMain(m)
}

func TestTheFirstAccountIsTheOwners(t *testing.T) {
	r := newRig(t)
	b := r.browser()
	if where, _ := b.want(http.StatusSeeOther, http.MethodGet, "/", nil); where != "/gate/first" {
		t.Errorf("a new studio leads to %s", where)
	}
	form := url.Values{"code": {"aaaa-bbbb-cccc"}, "name": {"Jo Marsh"}, "password": {goodPassword}, "again": {goodPassword}}
	if _, text := b.want(http.StatusUnprocessableEntity, http.MethodPost, "/gate/first", form); !strings.Contains(text, "not the code") {
		t.Error(text)
	}
	_, query, _ := strings.Cut(r.gate.FirstPage("127.0.0.1:8080"), "code=")
	form.Set("code", query)
	for password, says := range map[string]string{"short": "10 signs", "aaaaaaaaaaaa": "one sign", "my jo marsh pass": "your name"} {
		form.Set("password", password)
		form.Set("again", password)
		if _, text := b.want(http.StatusUnprocessableEntity, http.MethodPost, "/gate/first", form); !strings.Contains(text, says) {
			t.Errorf("%s: %s", password, text)
		}
	}
	form.Set("password", goodPassword)
	form.Set("again", goodPassword)
	if where, _ := b.want(http.StatusSeeOther, http.MethodPost, "/gate/first", form); where != "/" {
		t.Errorf("the owner is led to %s", where)
	}
	b.want(http.StatusOK, http.MethodGet, "/people", nil)
	other := r.browser()
	form.Set("name", "Another")
	other.want(http.StatusSeeOther, http.MethodPost, "/gate/first", form) // there is an owner
	if accounts, _ := r.gate.book.Accounts(); len(accounts) != 1 {
		t.Errorf("%d owners", len(accounts))
	}
}

func TestAConsoleThatOthersReachWantsAccounts(t *testing.T) {
	for listen, loopback := range map[string]bool{"127.0.0.1:8080": true, "[::1]:80": true, "localhost:80": true, "0.0.0.0:80": false,
		":80": false, "192.0.2.10:80": false, "[::]:80": false} {
		if Loopback(listen) != loopback {
			t.Errorf("%s: loopback %v", listen, !loopback)
		}
	}
	o := Options{Dir: t.TempDir(), TokenFile: filepath.Join(t.TempDir(), "token"), Listen: "0.0.0.0:8080"}
	if _, err := New(o); !errors.Is(err, ErrNobodyMay) {
		t.Errorf("without accounts: %v", err)
	}
	o.Open = true
	if _, err := New(o); err != nil {
		t.Errorf("open by its word: %v", err)
	}
	o.Open = false
	desk, err := OpenDesk(o.Dir, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := desk.Add("Jo Marsh", "manager", ""); err != nil {
		t.Fatal(err)
	}
	if _, err := New(o); err != nil {
		t.Errorf("with an account: %v", err)
	}
}

func TestTabletsArePairedAndSwitchByPIN(t *testing.T) {
	r := newRig(t)
	r.account("Jo Marsh", "", Manager)
	sam, kim := r.account("Sam Reed", "4714", Fitter), r.account("Kim Vale", "9082", Fitter)
	jo, tablet := r.browser(), r.browser()
	jo.signIn("Jo Marsh")
	_, text := jo.want(http.StatusOK, http.MethodPost, "/gate/devices", url.Values{"name": {"tablet north"}})
	_, code, _ := strings.Cut(text, `id="code">`)
	code, _, _ = strings.Cut(code, "<")

	if _, text := tablet.want(http.StatusForbidden, http.MethodPost, "/gate/pin",
		url.Values{"id": {sam}, "pin": {"4714"}}); !strings.Contains(text, "paired tablet only") {
		t.Error(text)
	}
	tablet.want(http.StatusUnprocessableEntity, http.MethodPost, "/gate/pair", url.Values{"code": {"2222-2222"}})
	tablet.want(http.StatusSeeOther, http.MethodPost, "/gate/pair", url.Values{"code": {strings.ToUpper(code)}})
	r.browser().want(http.StatusUnprocessableEntity, http.MethodPost, "/gate/pair", url.Values{"code": {code}}) // once
	if _, text := tablet.want(http.StatusOK, http.MethodGet, "/gate/in", nil); !strings.Contains(text, "Sam Reed") ||
		strings.Contains(text, "Jo Marsh") {
		t.Error("a paired tablet offers those who have a PIN")
	}
	if _, text := r.browser().want(http.StatusOK, http.MethodGet, "/gate/in", nil); strings.Contains(text, "Sam Reed") {
		t.Error("a stranger reads names")
	}
	tablet.want(http.StatusSeeOther, http.MethodPost, "/gate/pin", url.Values{"id": {sam}, "pin": {"4714"}})
	devices, _ := r.gate.book.Devices()
	if _, text := tablet.want(http.StatusOK, http.MethodGet, "/bays/x", nil); !strings.Contains(text, sam+"@"+devices[0].ID) {
		t.Errorf("the tablet's: %s", text)
	}
	tablet.want(http.StatusSeeOther, http.MethodPost, "/gate/pin", url.Values{"id": {kim}, "pin": {"9082"}})
	if _, text := tablet.want(http.StatusOK, http.MethodGet, "/bays/x", nil); !strings.Contains(text, kim+"@") {
		t.Errorf("after the switch: %s", text)
	}

	// A wrong PIN too often locks it, until its owner signs in by password.
	for range mostWrongPIN {
		tablet.want(http.StatusUnprocessableEntity, http.MethodPost, "/gate/pin", url.Values{"id": {sam}, "pin": {"1111"}})
		r.later(time.Minute)
	}
	if _, text := tablet.want(http.StatusUnprocessableEntity, http.MethodPost, "/gate/pin",
		url.Values{"id": {sam}, "pin": {"4714"}}); !strings.Contains(text, "locked") {
		t.Error(text)
	}
	r.later(time.Minute)
	tablet.signIn("Sam Reed")
	tablet.want(http.StatusSeeOther, http.MethodPost, "/gate/pin", url.Values{"id": {sam}, "pin": {"4714"}})

	// Revoked: its live pages end, its sessions too, its key says nothing.
	stayed := make(chan int, 1)
	go func() {
		code, _, _ := tablet.do(http.MethodGet, "/bays/x/live?stay=1", nil)
		stayed <- code
	}()
	waitFor(t, func() bool { r.gate.mu.Lock(); defer r.gate.mu.Unlock(); return len(r.gate.live) == 1 })
	jo.want(http.StatusSeeOther, http.MethodPost, "/gate/devices/"+devices[0].ID+"/revoke", url.Values{})
	if code := <-stayed; code != http.StatusOK {
		t.Errorf("the live page: %d", code)
	}
	tablet.want(http.StatusSeeOther, http.MethodGet, "/bays/x", nil)
	tablet.want(http.StatusForbidden, http.MethodPost, "/gate/pin", url.Values{"id": {sam}, "pin": {"4714"}})
}

func waitFor(t *testing.T, is func() bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); !is(); <-time.After(2 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("it never came")
		}
	}
}

func TestAPINIsTooShortForManaging(t *testing.T) {
	r := newRig(t)
	jo := r.account("Jo Marsh", "4714", Manager)
	code, _, err := r.gate.book.Pair("tablet", false, "hub", r.gate.now())
	if err != nil {
		t.Fatal(err)
	}
	b := r.browser()
	b.want(http.StatusSeeOther, http.MethodPost, "/gate/pair", url.Values{"code": {code}})
	b.want(http.StatusSeeOther, http.MethodPost, "/gate/pin", url.Values{"id": {jo}, "pin": {"4714"}})
	b.want(http.StatusOK, http.MethodGet, "/people", nil)
	for _, path := range []string{"/gate/people", "/gate/devices", "/gate/trail"} {
		if _, text := b.want(http.StatusForbidden, http.MethodGet, path, nil); !strings.Contains(text, "password") {
			t.Errorf("%s: %s", path, text)
		}
	}
	b.want(http.StatusForbidden, http.MethodPost, "/people/p-1/erase", nil)
	b.signIn("Jo Marsh")
	b.want(http.StatusOK, http.MethodGet, "/gate/trail", nil)
}

func TestAScreenShowsPicturesAndNothingElse(t *testing.T) {
	r := newRig(t)
	r.account("Jo Marsh", "", Manager)
	code, _, err := r.gate.book.Pair("wall", true, "hub", r.gate.now())
	if err != nil {
		t.Fatal(err)
	}
	b := r.browser()
	if where, _ := b.want(http.StatusSeeOther, http.MethodPost, "/gate/pair", url.Values{"code": {code}}); where != "/gate/home" {
		t.Errorf("led to %s", where)
	}
	b.want(http.StatusOK, http.MethodGet, "/bays/north/wall", nil)
	b.want(http.StatusForbidden, http.MethodGet, "/bays/north", nil)
	b.want(http.StatusForbidden, http.MethodGet, "/api/people", nil)
	if where, _ := b.want(http.StatusSeeOther, http.MethodGet, "/", nil); where != "/gate/home" {
		t.Errorf("led to %s", where)
	}
}

func TestSessionsEnd(t *testing.T) {
	r := newRig(t)
	r.account("Jo Marsh", "", Manager)
	sam := r.account("Sam Reed", "", Fitter)
	b, thief, jo := r.browser(), r.browser(), r.browser()
	b.signIn("Sam Reed")
	jo.signIn("Jo Marsh")
	site, _ := url.Parse(r.url)
	before := b.client.Jar.Cookies(site)
	b.want(http.StatusSeeOther, http.MethodPost, "/gate/out", url.Values{})
	thief.client.Jar.SetCookies(site, before)
	thief.want(http.StatusSeeOther, http.MethodGet, "/people", nil) // what was signed out says nothing

	b.signIn("Sam Reed")
	r.later(idleFor - time.Minute)
	b.want(http.StatusOK, http.MethodGet, "/people", nil)
	r.later(idleFor - time.Minute)
	b.want(http.StatusOK, http.MethodGet, "/people", nil) // it was used
	r.later(idleFor + time.Minute)
	b.want(http.StatusSeeOther, http.MethodGet, "/people", nil)
	if code, _, text := b.do(http.MethodPost, "/bays/x/feel", url.Values{}, "HX-Request", "true"); code != http.StatusUnauthorized ||
		!strings.Contains(text, "still there") {
		t.Errorf("a form: %d %s", code, text)
	}
	jo.signIn("Jo Marsh")
	for _, act := range []string{"reset", "revoke"} {
		if act == "revoke" {
			made, _ := r.gate.book.Reset(sam, r.gate.now())
			if _, err := r.gate.book.join(made.Code, goodPassword, "", r.gate.now()); err != nil {
				t.Fatal(err)
			}
			r.later(time.Second)
		}
		b.signIn("Sam Reed")
		b.want(http.StatusOK, http.MethodGet, "/people", nil)
		r.later(time.Second)
		if code, _, text := jo.do(http.MethodPost, "/gate/people/"+sam+"/"+act, url.Values{}); code >= 400 {
			t.Fatalf("%s: %d %s", act, code, text)
		}
		b.want(http.StatusSeeOther, http.MethodGet, "/people", nil)
		b.want(http.StatusUnprocessableEntity, http.MethodPost, "/gate/in", url.Values{"name": {"Sam Reed"}, "password": {goodPassword}})
	}
	jo.want(http.StatusUnprocessableEntity, http.MethodPost, "/gate/people/"+r.idOf("Jo Marsh")+"/revoke", url.Values{}) // the last manager
}

func (r *rig) idOf(name string) string {
	p, _ := r.gate.book.all()
	return p.named(name).ID
}

// A session that is opened on a tablet is of that tablet: its cookie alone opens
// nothing elsewhere. A console that is started anew knows the sessions.
func TestASessionBelongsToItsTablet(t *testing.T) {
	r := newRig(t)
	sam := r.account("Sam Reed", "4714", Fitter)
	code, _, _ := r.gate.book.Pair("tablet", false, "hub", r.gate.now())
	b, thief := r.browser(), r.browser()
	b.want(http.StatusSeeOther, http.MethodPost, "/gate/pair", url.Values{"code": {code}})
	b.want(http.StatusSeeOther, http.MethodPost, "/gate/pin", url.Values{"id": {sam}, "pin": {"4714"}})
	site, _ := url.Parse(r.url)
	cookies := b.client.Jar.Cookies(site)
	thief.client.Jar.SetCookies(site, slices.DeleteFunc(slices.Clone(cookies), func(c *http.Cookie) bool { return c.Name == deviceCookie }))
	thief.want(http.StatusSeeOther, http.MethodGet, "/people", nil)
	again, err := openSessions(filepath.Join(r.dir, "gate", "sessions.json"), r.gate.now)
	if err != nil || len(again.all) != 1 {
		t.Errorf("%d sessions are kept, %v", len(again.all), err)
	}
	text, _ := os.ReadFile(filepath.Join(r.dir, "gate", "sessions.json"))
	for _, c := range cookies {
		if strings.Contains(string(text), c.Value) {
			t.Error("the file of sessions holds a key")
		}
	}
}

func TestTriesAreBounded(t *testing.T) {
	r := newRig(t)
	r.account("Jo Marsh", "", Manager)
	b, limited := r.browser(), 0
	for range tryBurst + 4 {
		if code, _, _ := b.do(http.MethodPost, "/gate/in",
			url.Values{"name": {"Jo Marsh"}, "password": {"wrong wrong wrong"}}); code == http.StatusTooManyRequests {
			limited++
		}
	}
	if limited != 4 {
		t.Errorf("%d of %d were refused", limited, tryBurst+4)
	}
	r.later(time.Minute)
	b.signIn("Jo Marsh")
	if said := strings.Join(r.trail(), "\n"); strings.Count(said, "failed to sign in") != tryBurst ||
		strings.Count(said, "tried too often") != 1 {
		t.Error(said)
	}
}

func TestTheHubsToolsShowAToken(t *testing.T) {
	r := newRig(t)
	r.account("Jo Marsh", "", Manager)
	b := r.browser()
	token, err := ReadToken(filepath.Join(r.dir, "keys", "console.token"))
	if err != nil {
		t.Fatal(err)
	}
	if code, _, text := b.do(http.MethodGet, "/api/people", nil, "Authorization", "Bearer "+token); code != http.StatusOK ||
		text != "reached by hub@hub" {
		t.Errorf("%d %s", code, text)
	}
	if code, _, text := b.do(http.MethodGet, "/api/people", nil, "Authorization", "Bearer fairlead-wrong"); code != http.StatusUnauthorized ||
		!strings.Contains(text, "console.token") {
		t.Errorf("%d %s", code, text)
	}
	if err := os.Chmod(filepath.Join(r.dir, "keys", "console.token"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := EnsureToken(filepath.Join(r.dir, "keys", "console.token")); err == nil || !strings.Contains(err.Error(), "chmod 600") {
		t.Errorf("a token that others read: %v", err)
	}
}

// A file of accounts that is damaged, or that others may write, lets nobody in.
func TestTheAccountsFailClosed(t *testing.T) {
	r := newRig(t)
	r.account("Jo Marsh", "", Manager)
	b := r.browser()
	b.signIn("Jo Marsh")
	file := filepath.Join(r.dir, "gate", "accounts.json")
	text, _ := os.ReadFile(file)
	for _, damage := range []func() error{
		func() error { return errors.Join(os.WriteFile(file, text, 0o600), os.Chmod(file, 0o666)) },
		func() error { return errors.Join(os.WriteFile(file, text[:len(text)/2], 0o600), os.Chmod(file, 0o600)) },
	} {
		if err := damage(); err != nil {
			t.Fatal(err)
		}
		r.gate.book.mu.Lock()
		r.gate.book.seen = nil
		r.gate.book.mu.Unlock()
		if code, _, _ := b.get("/people"); code != http.StatusServiceUnavailable {
			t.Errorf("%d", code)
		}
	}
}

func TestTheTerminalAndTheConsoleChangeTheSameBook(t *testing.T) {
	r := newRig(t)
	desk, err := OpenDesk(filepath.Join(r.dir, "gate"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			if _, err := desk.Add("Terminal "+string(rune('a'+i)), "fitter", ""); err != nil {
				t.Error(err)
			}
		})
		all.Go(func() {
			if _, err := r.gate.book.Add("", "Page "+string(rune('a'+i)), []Role{Fitter}, time.Now()); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	accounts, err := r.gate.book.Accounts()
	if err != nil || len(accounts) != 16 {
		t.Errorf("%d accounts, %v", len(accounts), err)
	}
	if n, err := r.gate.trail.Verify(); err != nil || n != 8 {
		t.Errorf("%d lines, %v", n, err)
	}
}

func TestTheTrailSaysWhoSawNames(t *testing.T) {
	r := newRig(t)
	sam := r.account("Sam Reed", "", Fitter)
	b := r.browser()
	b.signIn("Sam Reed")
	for range 3 {
		b.want(http.StatusOK, http.MethodGet, "/people", nil)
	}
	b.want(http.StatusForbidden, http.MethodPost, "/people/p-7/erase", nil)
	b.want(http.StatusOK, http.MethodPost, "/people", url.Values{})
	want := []string{sam + " signed in", sam + " saw /people", sam + " was refused POST /people/p-7/erase", sam + " changed /people"}
	if got := r.trail(); !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	r.later(sawAgain + time.Minute)
	b.want(http.StatusOK, http.MethodGet, "/people", nil)
	if got := r.trail(); len(got) != 5 {
		t.Errorf("%q", got)
	}
	files, _ := filepath.Glob(filepath.Join(r.dir, "gate", "trail", "*.jsonl"))
	text, _ := os.ReadFile(files[0])
	if strings.Contains(string(text), "Sam") {
		t.Error("the trail holds a name")
	}
	if err := os.WriteFile(files[0], []byte(strings.Replace(string(text), "was refused", "was let in", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := r.gate.trail.Verify(); err == nil || !strings.Contains(err.Error(), "line 4") {
		t.Errorf("a changed line: %v", err)
	}
	if err := os.WriteFile(files[0], text[:len(text)-5], 0o600); err != nil { // a power cut
		t.Fatal(err)
	}
	if err := r.gate.trail.Add(Mark{At: time.Now(), What: "after"}); err != nil {
		t.Fatal(err)
	}
	if got, err := r.gate.trail.Latest(1, func(Mark) bool { return true }); err != nil || len(got) != 1 || got[0].What != "after" {
		t.Errorf("%v %v", got, err)
	}
}

// Who takes a file along is in the trail as that, whether it holds names or not; the
// hub's own terminal too.
func TestTheTrailSaysWhoTookAFile(t *testing.T) {
	r := newRig(t)
	sam := r.account("Sam Reed", "", Fitter)
	b := r.browser()
	b.signIn("Sam Reed")
	for _, path := range []string{"/players/due.csv", "/fleet/answers/x.csv", "/reports/v-1.pdf", "/reports/v-1", "/fleet/methods"} {
		b.want(http.StatusOK, http.MethodGet, path, nil)
	}
	d, err := OpenDesk(filepath.Join(r.dir, "gate"), time.Now)
	if err == nil {
		err = d.Exported("shots with names")
	}
	if err != nil {
		t.Fatal(err)
	}
	want := []string{sam + " signed in", sam + " exported /players/due.csv", sam + " exported /fleet/answers/x.csv",
		sam + " exported /reports/v-1.pdf", sam + " saw /reports/v-1", "hub exported shots with names"}
	if got := r.trail(); !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
}

func TestSecrets(t *testing.T) {
	h := hashed("a b c d e f")
	if !matches(h, "a b c d e f") || matches(h, "a b c d e g") || matches("", "") || matches(nobodys, "") {
		t.Error("a hash matches what it should not, or does not what it should")
	}
	for _, bad := range []string{"x", "$argon2id$v=19$m=4000000000,t=1,p=1$AAAA$AAAA",
		"$argon2id$v=19$m=19456,t=0,p=0$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
		"$argon2i$v=19$m=19456,t=2,p=1$AAAA$AAAA", "$argon2id$v=19$m=19456,t=2,p=1$AAAA$AA"} {
		if matches(bad, "") {
			t.Errorf("%s matches", bad)
		}
	}
	for _, name := range []string{"", " ", "a\x00b", "\u202egnp.exe", "zero\u200bwidth", strings.Repeat("x", 200)} {
		if _, err := CheckName(name); err == nil {
			t.Errorf("%q is taken for a name", name)
		}
	}
	for _, to := range []string{"//evil.example", "/\\evil.example", "https://evil.example", "/gate/out", "javascript:1", ""} {
		if within(to) != "/" {
			t.Errorf("%q leads elsewhere", to)
		}
	}
	if within("/bays/north?all=1") != "/bays/north?all=1" {
		t.Error("an address of this site is lost")
	}
}

// Whoever is signed in at two places ends one of them from the other, and only that;
// nobody ends another's.
func TestOneSessionIsEndedSingly(t *testing.T) {
	r := newRig(t)
	r.account("Jo Marsh", "", Manager)
	r.account("Sam Reed", "", Fitter)
	here, lost, jo := r.browser(), r.browser(), r.browser()
	lost.signIn("Sam Reed")
	r.later(time.Second)
	here.signIn("Sam Reed")
	jo.signIn("Jo Marsh")
	_, page := here.want(http.StatusOK, http.MethodGet, "/gate/me", nil)
	ends := regexp.MustCompile(`action="(/gate/me/sessions/[0-9a-f]+/end)"`).FindAllStringSubmatch(page, -1)
	if len(ends) != 1 {
		t.Fatalf("%d sessions can be ended from here, want the other one", len(ends))
	}
	jo.want(http.StatusNotFound, http.MethodPost, ends[0][1], url.Values{})
	lost.want(http.StatusOK, http.MethodGet, "/people", nil)
	here.want(http.StatusSeeOther, http.MethodPost, ends[0][1], url.Values{})
	lost.want(http.StatusSeeOther, http.MethodGet, "/people", nil)
	here.want(http.StatusOK, http.MethodGet, "/people", nil)
	here.want(http.StatusNotFound, http.MethodPost, ends[0][1], url.Values{})
}
