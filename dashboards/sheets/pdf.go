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
	"strings"
	"time"
)

// ErrNoPrinter says that this machine has no browser to print with.
var ErrNoPrinter = errors.New("no Chromium on this machine to make a PDF with: apt-get install chromium, or print the page from your " +
	"browser as PDF")

// printing is the longest that one paper may take.
const printing = 30 * time.Second

// Printer prints pages with this machine's Chromium, one at a time: a browser takes
// a core. It may be used by several goroutines.
type Printer struct{ held chan struct{} }

// NewPrinter makes one.
func NewPrinter() *Printer { return &Printer{make(chan struct{}, 1)} }

// Print makes a PDF of a page that needs nothing but itself; ErrNoPrinter where this
// machine has no Chromium.
func (p *Printer) Print(ctx context.Context, page []byte) ([]byte, error) {
	ctx, stop := context.WithTimeout(ctx, printing)
	defer stop()
	select {
	case p.held <- struct{}{}:
		defer func() { <-p.held }()
	case <-ctx.Done():
		return nil, fmt.Errorf("other papers are being printed for %v: try again", printing)
	}
	return byChromium(ctx, page)
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
	return printPage(ctx, templates(), "sheet.html", map[string]any{"Title": "Build sheet " + s.Order, "P": s, "Studio": s.Studio})
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
	return byChromium(ctx, html)
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
	options := []string{"--headless", "--disable-gpu", "--no-first-run", "--disable-extensions", "--disable-background-networking",
		"--disable-component-update",
		"--disable-dev-shm-usage", "--user-data-dir=" + filepath.Join(dir, "profile"),
		"--no-pdf-header-footer", "--print-to-pdf=" + out}
	if os.Geteuid() == 0 {
		options = append(options, "--no-sandbox") // it has none for root
	}
	command := exec.CommandContext(ctx, browser, append(options, "file://"+filepath.ToSlash(in))...)
	command.WaitDelay = 5 * time.Second
	said, err := command.CombinedOutput()
	if err == nil {
		var pdf []byte
		if pdf, err = os.ReadFile(out); err == nil {
			return pdf, nil
		}
	}
	if ctx.Err() != nil {
		return nil, fmt.Errorf("print a paper: not done in time: %w", ctx.Err())
	}
	return nil, fmt.Errorf("print a paper with %s: %w: %s", browser, err, lastLine(said))
}

// lastLine is the last thing that a program said.
func lastLine(said []byte) string {
	lines := strings.Split(strings.TrimSpace(string(said)), "\n")
	return clean(lines[len(lines)-1])
}
