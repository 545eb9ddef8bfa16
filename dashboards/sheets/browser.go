package sheets

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"
)

// browser is a Chromium that waits for the next page to print: to start takes it two
// seconds of a processor, a page a tenth of one. It is asked over two pipes, by the
// protocol of its developer tools, and ends by itself when they are closed, so none is
// left by a process that dies; libraries that speak it want a port, on which whoever is on
// this machine could read the paper. One goroutine at a time may use it.
type browser struct {
	command *exec.Cmd
	dir     string // its profile, the page that it prints, and what it said
	to      *os.File
	from    *bufio.Reader
	pipes   []*os.File
	asked   int
	seen    map[string]bool // events of the page that is printed
}

// beginBrowser starts one; ErrNoPrinter where this machine has none.
func beginBrowser() (_ *browser, err error) {
	path := browserPath()
	if path == "" {
		return nil, ErrNoPrinter
	}
	b := &browser{}
	defer func() {
		if err != nil {
			b.end()
		}
	}()
	if b.dir, err = os.MkdirTemp("", "fairlead-paper-"); err != nil {
		return nil, fmt.Errorf("start a browser for papers: %w", err)
	}
	theirs := make([]*os.File, 0, 3)
	defer func() { // the browser has its own ends of them
		for _, f := range theirs {
			f.Close()
		}
	}()
	said, err := os.Create(filepath.Join(b.dir, "said"))
	if err != nil {
		return nil, fmt.Errorf("start a browser for papers: %w", err)
	}
	theirs = append(theirs, said)
	asks, to, err := os.Pipe()
	if err != nil {
		return nil, fmt.Errorf("start a browser for papers: %w", err)
	}
	theirs, b.to, b.pipes = append(theirs, asks), to, append(b.pipes, to)
	from, answers, err := os.Pipe()
	if err != nil {
		return nil, fmt.Errorf("start a browser for papers: %w", err)
	}
	theirs, b.from, b.pipes = append(theirs, answers), bufio.NewReader(from), append(b.pipes, from)
	command := exec.Command(path, append(browserOptions(b.dir), "--remote-debugging-pipe")...)
	command.ExtraFiles = []*os.File{asks, answers} // 3 and 4, as it expects them
	command.Stdout, command.Stderr = said, said
	inGroup(command)
	if err = command.Start(); err != nil {
		return nil, fmt.Errorf("start a browser for papers: %w", err)
	}
	b.command = command
	return b, nil
}

// browserOptions are what it is started with in a folder of its own.
func browserOptions(dir string) []string {
	options := []string{"--headless", "--disable-gpu", "--no-first-run", "--disable-extensions", "--disable-background-networking",
		"--disable-component-update", "--disable-dev-shm-usage", "--user-data-dir=" + filepath.Join(dir, "profile")}
	if os.Geteuid() == 0 {
		options = append(options, "--no-sandbox") // it has none for root
	}
	return options
}

// end stops it and takes away what it kept.
func (b *browser) end() {
	for _, f := range b.pipes {
		f.Close()
	}
	if b.command != nil {
		killGroup(b.command)
		b.command.Wait() // it was killed, or went before: neither is news
	}
	if b.dir != "" {
		os.RemoveAll(b.dir)
	}
}

// print makes a PDF of a page that needs nothing but itself. After an error it can't be
// used again; ErrNoTime where ctx ended first.
func (b *browser) print(ctx context.Context, page []byte) (pdf []byte, err error) {
	defer func() {
		switch {
		case err == nil:
		case ctx.Err() != nil:
			err = ErrNoTime
		default:
			said, _ := os.ReadFile(filepath.Join(b.dir, "said")) // it may have said nothing
			err = fmt.Errorf("print a paper: %w: %s", err, lastLine(said))
		}
	}()
	for _, pipe := range b.pipes { // an answer that doesn't come ends with ctx
		if at, ok := ctx.Deadline(); ok {
			if err := pipe.SetDeadline(at.Add(50 * time.Millisecond)); err != nil {
				return nil, err
			}
		}
	}
	in := filepath.Join(b.dir, "paper.html")
	if err := os.WriteFile(in, page, 0o600); err != nil {
		return nil, err
	}
	defer os.Remove(in)
	type given map[string]any
	var tab struct {
		ID string `json:"targetId"`
	}
	if err := b.ask("", "Target.createTarget", given{"url": "about:blank"}, &tab); err != nil {
		return nil, err
	}
	var session struct {
		ID string `json:"sessionId"`
	}
	if err := b.ask("", "Target.attachToTarget", given{"targetId": tab.ID, "flatten": true}, &session); err != nil {
		return nil, err
	}
	b.seen = map[string]bool{}
	for _, step := range []struct {
		method string
		params any
	}{{"Page.enable", given{}}, {"Page.navigate", given{"url": "file://" + filepath.ToSlash(in)}}} {
		var done struct {
			ErrorText string `json:"errorText"`
		}
		if err := b.ask(session.ID, step.method, step.params, &done); err != nil {
			return nil, err
		}
		if done.ErrorText != "" {
			return nil, errors.New(done.ErrorText)
		}
	}
	for !b.seen["Page.loadEventFired"] {
		if _, err := b.hear(); err != nil {
			return nil, err
		}
	}
	var out struct {
		Data []byte `json:"data"`
	}
	err = b.ask(session.ID, "Page.printToPDF", given{"printBackground": true, "preferCSSPageSize": true, "generateTaggedPDF": true}, &out)
	if err != nil {
		return nil, err
	}
	if err := b.ask("", "Target.closeTarget", given{"targetId": tab.ID}, &struct{}{}); err != nil {
		return nil, err
	}
	return out.Data, nil
}

// message is what comes from it: an answer where it has an id, else an event.
type message struct {
	ID     int             `json:"id"`
	Method string          `json:"method"`
	Result json.RawMessage `json:"result"`
	Error  *struct {
		Message string `json:"message"`
	} `json:"error"`
}

// ask has it do something and waits for what comes of it.
func (b *browser) ask(session, method string, params, into any) error {
	b.asked++
	text, err := json.Marshal(struct {
		ID      int    `json:"id"`
		Session string `json:"sessionId,omitempty"`
		Method  string `json:"method"`
		Params  any    `json:"params"`
	}{b.asked, session, method, params})
	if err != nil {
		return err
	}
	if _, err := b.to.Write(append(text, 0)); err != nil {
		return fmt.Errorf("%s: %w", method, err)
	}
	for {
		m, err := b.hear()
		switch {
		case err != nil:
			return fmt.Errorf("%s: %w", method, err)
		case m.ID != b.asked:
		case m.Error != nil:
			return fmt.Errorf("%s: %s", method, m.Error.Message)
		default:
			return json.Unmarshal(m.Result, into)
		}
	}
}

// hear takes the next message; each ends with a zero.
func (b *browser) hear() (m message, err error) {
	text, err := b.from.ReadBytes(0)
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(bytes.TrimSuffix(text, []byte{0}), &m); err != nil {
		return m, err
	}
	if m.ID == 0 && b.seen != nil {
		b.seen[m.Method] = true
	}
	return m, nil
}
