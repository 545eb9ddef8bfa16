package gate

import (
	"errors"
	"io"
	"net"
	"sync"
	"time"
)

const (
	// firstWithin is how long somebody who connects may take for the first byte, and
	// waiting how many may be waited for at once.
	firstWithin = 5 * time.Second
	waiting     = 512
)

// Split parts what comes to an address by its first byte: who begins a TLS
// handshake comes to the first listener, everybody else to the second. Closing
// either closes the address.
func Split(l net.Listener) (secure, plain net.Listener) {
	end := make(chan struct{})
	s := &split{Listener: l, end: end, once: sync.OnceFunc(func() { close(end); l.Close() })}
	a, b := &side{s, make(chan net.Conn)}, &side{s, make(chan net.Conn)}
	go s.run(a, b)
	return a, b
}

type split struct {
	net.Listener
	end  chan struct{}
	once func()
}

type side struct {
	*split
	come chan net.Conn
}

func (s *side) Accept() (net.Conn, error) {
	select {
	case c := <-s.come:
		return c, nil
	case <-s.end:
		return nil, net.ErrClosed
	}
}

func (s *side) Close() error { s.once(); return nil }

func (s *split) run(secure, plain *side) {
	defer s.once()
	room := make(chan struct{}, waiting)
	for {
		c, err := s.Listener.Accept()
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil { // too many open files, as a rule: it passes
			select {
			case <-s.end:
				return
			case <-time.After(50 * time.Millisecond):
			}
			continue
		}
		select {
		case room <- struct{}{}:
		default:
			c.Close()
			continue
		}
		go func() {
			defer func() { <-room }()
			s.part(c, secure, plain)
		}()
	}
}

func (s *split) part(c net.Conn, secure, plain *side) {
	first := make([]byte, 1)
	c.SetReadDeadline(time.Now().Add(firstWithin))
	if _, err := io.ReadFull(c, first); err != nil {
		c.Close()
		return
	}
	c.SetReadDeadline(time.Time{})
	to := plain
	if first[0] == 0x16 { // a handshake, as TLS calls it
		to = secure
	}
	select {
	case to.come <- &begun{Conn: c, first: first}:
	case <-s.end:
		c.Close()
	}
}

// begun is a connection of which the first byte was read.
type begun struct {
	net.Conn
	first []byte
}

func (b *begun) Read(p []byte) (int, error) {
	if len(b.first) > 0 && len(p) > 0 {
		n := copy(p, b.first)
		b.first = b.first[n:]
		return n, nil
	}
	return b.Conn.Read(p)
}
