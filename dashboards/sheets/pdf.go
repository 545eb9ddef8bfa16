package sheets

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// ErrNoPrinter says that this machine has no browser to print with.
var ErrNoPrinter = errors.New("no Chromium on this machine to make a PDF with: apt-get install chromium, or print the page from your " +
	"browser as PDF")

// ErrNoTime says that a paper was not printed in time.
var ErrNoTime = fmt.Errorf("the machine has too much to do: the paper was not printed within %v; try again, or print the page from "+
	"your browser as PDF", printing)

// printing is the longest that one paper may take, a browser's start on a machine out
// of breath included.
const printing = time.Minute

// browserRests is how long a browser waits for the next paper.
const browserRests = 2 * time.Minute

// Printer prints pages with this machine's Chromium, one at a time: a browser takes
// a core. The browser stays a while for the next paper. It may be used by several
// goroutines; Close ends it.
type Printer struct {
	held    chan struct{} // full while somebody has what stands below
	browser *browser      // nil: none runs
	idle    *time.Timer
	closed  bool
}

// NewPrinter makes one.
func NewPrinter() *Printer { return &Printer{held: make(chan struct{}, 1)} }

// Print makes a PDF of a page that needs nothing but itself; ErrNoPrinter where this
// machine has no Chromium, ErrNoTime where it had no breath for it. Who goes away
// leaves the queue; a paper that is begun is printed, so that asking again is quick.
func (p *Printer) Print(ctx context.Context, page []byte) ([]byte, error) {
	queue, stop := context.WithTimeout(ctx, printing)
	defer stop()
	select {
	case p.held <- struct{}{}:
		defer func() { <-p.held }()
	case <-queue.Done():
		return nil, ErrNoTime
	}
	if p.closed {
		return nil, errors.New("print a paper: the console ends")
	}
	work, stop := context.WithTimeout(context.WithoutCancel(ctx), printing)
	defer stop()
	if runtime.GOOS == "windows" { // a process gets no further pipes there
		return byChromium(work, page)
	}
	if p.idle != nil {
		p.idle.Stop()
	}
	for waited := p.browser != nil; ; waited = false { // one that waited may have gone meanwhile: another is begun, once
		if p.browser == nil {
			var err error
			if p.browser, err = beginBrowser(); err != nil {
				return nil, err
			}
		}
		pdf, err := p.browser.print(work, page)
		if err == nil {
			p.idle = time.AfterFunc(browserRests, p.rest)
			return pdf, nil
		}
		p.browser.end()
		p.browser = nil
		if !waited || work.Err() != nil {
			return nil, err
		}
	}
}

// rest ends a browser that nobody needed for a while.
func (p *Printer) rest() {
	select {
	case p.held <- struct{}{}:
		defer func() { <-p.held }()
		p.endBrowser()
	default: // it prints, and rests anew after that
	}
}

func (p *Printer) endBrowser() {
	if p.browser != nil {
		p.browser.end()
		p.browser = nil
	}
}

// Close ends the browser; what is asked after it is refused.
func (p *Printer) Close() {
	p.held <- struct{}{}
	defer func() { <-p.held }()
	if p.idle != nil {
		p.idle.Stop()
	}
	p.closed = true
	p.endBrowser()
}

// Give answers with a PDF that is named.
func Give(w http.ResponseWriter, pdf []byte, name string) {
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", fmt.Sprintf("inline; filename=%q", strings.Map(nameable, name)+".pdf"))
	w.Write(pdf)
}

// pdf prints a page as the browser would.
func (h *Handler) pdf(w http.ResponseWriter, r *http.Request, page, name string, data map[string]any) {
	data["Studio"] = h.o.Studio
	html, err := inOne(h.pages, page, data)
	if err == nil {
		var out []byte
		if out, err = h.o.Printer.Print(r.Context(), html); err == nil {
			Give(w, out, name)
			return
		}
	}
	h.fail(w, r, err)
}

// PDF is the sheet on paper; ErrNoPrinter where this machine has no Chromium.
func (s *Sheet) PDF(ctx context.Context) ([]byte, error) {
	return printPage(ctx, templates(), "sheet.html", map[string]any{"Title": s.title(), "P": s, "Studio": s.Studio})
}

// PDF is the report on paper, in short or with all behind it; ErrNoPrinter where
// this machine has no Chromium.
func (r *Report) PDF(ctx context.Context, all bool) ([]byte, error) {
	return printPage(ctx, templates(), "report.html",
		map[string]any{"Title": "Report of your fitting", "P": r, "Studio": r.Studio, "All": all})
}

func printPage(ctx context.Context, pages *template.Template, page string, data map[string]any) ([]byte, error) {
	html, err := inOne(pages, page, data)
	if err != nil {
		return nil, err
	}
	p := NewPrinter()
	defer p.Close()
	return p.Print(ctx, html)
}

// inOne is a page with its style in it, so that nothing is fetched.
func inOne(pages *template.Template, page string, data map[string]any) ([]byte, error) {
	style, err := files.ReadFile("assets/sheets.css")
	if err != nil {
		return nil, err
	}
	data["Inline"] = template.CSS(style)
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, page, data); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// nameable keeps of a name what is a file's name everywhere.
func nameable(c rune) rune {
	if c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_' {
		return c
	}
	return '-'
}

// browserPath is where this machine's Chromium is; "" where there is none.
func browserPath() string {
	for _, name := range []string{"chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// byChromium prints a page that needs nothing but itself with the machine's
// Chromium; the page itself forbids scripts. ErrNoPrinter where there is none.
func byChromium(ctx context.Context, page []byte) ([]byte, error) {
	browser := browserPath()
	if browser == "" {
		return nil, ErrNoPrinter
	}
	dir, err := os.MkdirTemp("", "fairlead-paper-")
	if err != nil {
		return nil, fmt.Errorf("print a paper: %w", err)
	}
	defer os.RemoveAll(dir)
	in, out := filepath.Join(dir, "paper.html"), filepath.Join(dir, "paper.pdf")
	if err := os.WriteFile(in, page, 0o600); err != nil {
		return nil, fmt.Errorf("print a paper: %w", err)
	}
	command := exec.CommandContext(ctx, browser, append(browserOptions(dir), "--no-pdf-header-footer", "--print-to-pdf="+out,
		"file://"+filepath.ToSlash(in))...)
	inGroup(command)
	command.Cancel = func() error { return killGroup(command) }
	command.WaitDelay = 5 * time.Second
	said, err := command.CombinedOutput()
	if err == nil {
		var pdf []byte
		if pdf, err = os.ReadFile(out); err == nil {
			return pdf, nil
		}
	}
	if ctx.Err() != nil {
		return nil, ErrNoTime
	}
	return nil, fmt.Errorf("print a paper with %s: %w: %s", browser, err, lastLine(said))
}

// lastLine is the last thing that a program said.
func lastLine(said []byte) string {
	lines := strings.Split(strings.TrimSpace(string(said)), "\n")
	return clean(lines[len(lines)-1])
}
