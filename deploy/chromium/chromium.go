// Package chromium gives tests one real browser for a test binary, and each test a tab with cookies, storage and
// cache of its own. A start costs two seconds of processor time, a tab a twentieth of that. Where Chromium is
// missing the test fails with the command that gets it; it is never skipped.
//
//	func TestMain(m *testing.M) { goleak.VerifyTestMain(chromium.Wrap(enginetest.Wrap(m))) }
//
//	ctx := chromium.Tab(t)
//	err := chromedp.Do(ctx, chromedp.Navigate(url), chromedp.WaitReady("main"))
package chromium

import (
	"context"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// patience is how long a test may have its tab.
const patience = 5 * time.Minute

// running is the browser of the test binary.
type running struct {
	lost <-chan struct{} // closed when it is gone
	tab  func() (context.Context, context.CancelFunc)
	end  func()
}

var shared struct {
	sync.Mutex
	wrapped bool
	running *running
}

type runner interface{ Run() int }

type wrapped struct{ inner runner }

// Wrap makes the tests of m able to use the browser, and ends it after them.
func Wrap(m runner) interface{ Run() int } { return wrapped{m} }

func (w wrapped) Run() int {
	shared.Lock()
	shared.wrapped = true
	shared.Unlock()
	code := w.inner.Run()
	shared.Lock()
	defer shared.Unlock()
	end()
	return code
}

// end stops the browser, if one runs.
func end() {
	if shared.running != nil {
		shared.running.end()
		shared.running = nil
	}
}

func (r *running) lives() bool {
	select {
	case <-r.lost:
		return false
	default:
		return true
	}
}

// Path is where the machine's Chromium is: that which has no windows before the whole one, as it takes a third less
// processor time for the same pages.
func Path(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Fatal("no Chromium to look at pages with: apt-get install -y chromium-headless-shell")
	return ""
}

// Tab opens a tab that knows nothing of what other tests did. It is closed when the test ends. A browser that a
// test has killed is started anew for the next.
func Tab(t testing.TB) context.Context {
	t.Helper()
	shared.Lock()
	defer shared.Unlock()
	if !shared.wrapped {
		t.Fatal("chromium: TestMain has to call goleak.VerifyTestMain(chromium.Wrap(m))")
	}
	if shared.running != nil && !shared.running.lives() {
		end()
	}
	if shared.running == nil {
		shared.running = begin(t)
	}
	ctx, leave := shared.running.tab()
	t.Cleanup(leave)
	ctx, late := context.WithTimeout(ctx, patience)
	t.Cleanup(late)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("chromium: a tab: %v", err)
	}
	return ctx
}

// begin starts a browser, whose own tab no test gets.
func begin(t testing.TB) *running {
	t.Helper()
	dir, err := os.MkdirTemp("", "fairlead-chromium-*")
	if err != nil {
		t.Fatal(err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(Path(t)), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-background-networking", true), chromedp.UserDataDir(dir))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, leave := chromedp.NewContext(ctx)
	gone := func() {
		leave()
		stop()
		_ = os.RemoveAll(dir)
	}
	if err := chromedp.Do(ctx); err != nil {
		gone()
		t.Fatalf("chromium: %v", err)
	}
	r := &running{lost: chromedp.FromContext(ctx).Browser.LostConnection, tab: func() (context.Context, context.CancelFunc) {
		return chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
	}}
	r.end = func() {
		if r.lives() {
			asked, cancel := context.WithTimeout(ctx, 10*time.Second)
			_ = chromedp.Cancel(asked) // asks it to go; gone makes sure
			cancel()
		}
		gone()
	}
	return r
}
