package watch

import (
	"context"
	"fmt"
	"net"
	"strconv"

	"github.com/wneessen/go-mail"
)

// Mail sends messages through a mail server.
type Mail struct {
	Server         string // host:port
	TLS            string // starttls (the default), tls from the first byte, or none
	From           string
	To             []string
	User, Password string // none: the server asks for neither
}

// Name is the sender's name.
func (s Mail) Name() string { return "mail" }

// Check says what of the settings can't be.
func (s Mail) Check() error {
	_, err := s.client()
	if err == nil {
		_, err = s.message(Message{})
	}
	return err
}

// Send mails a message to all receivers at once.
func (s Mail) Send(ctx context.Context, m Message) error {
	c, err := s.client()
	if err != nil {
		return err
	}
	letter, err := s.message(m)
	if err != nil {
		return err
	}
	if err := c.DialAndSendWithContext(ctx, letter); err != nil {
		return fmt.Errorf("mail by %s: %w", s.Server, err)
	}
	return nil
}

func (s Mail) message(m Message) (*mail.Msg, error) {
	letter := mail.NewMsg(mail.WithNoDefaultUserAgent())
	if err := letter.From(s.From); err != nil {
		return nil, fmt.Errorf("mail from %q: %w", s.From, err)
	}
	if err := letter.To(s.To...); err != nil {
		return nil, fmt.Errorf("mail to %q: %w", s.To, err)
	}
	letter.Subject(m.Subject())
	letter.SetBodyString(mail.TypeTextPlain, m.Text)
	return letter, nil
}

func (s Mail) client() (*mail.Client, error) {
	host, port, err := net.SplitHostPort(s.Server)
	if err != nil {
		return nil, fmt.Errorf("mail server %q: write host:port", s.Server)
	}
	n, err := strconv.Atoi(port)
	if err != nil {
		return nil, fmt.Errorf("mail server %q: %q is no port", s.Server, port)
	}
	options := []mail.Option{mail.WithPort(n), mail.WithTimeout(sendWithin)}
	switch s.TLS {
	case "", "starttls":
		options = append(options, mail.WithTLSPolicy(mail.TLSMandatory))
	case "tls":
		options = append(options, mail.WithSSL())
	case "none":
		options = append(options, mail.WithTLSPolicy(mail.NoTLS))
	default:
		return nil, fmt.Errorf("mail tls %q: use starttls, tls or none", s.TLS)
	}
	if s.User != "" {
		auth := mail.SMTPAuthAutoDiscover
		options = append(options, mail.WithSMTPAuth(auth), mail.WithUsername(s.User), mail.WithPassword(s.Password))
	}
	c, err := mail.NewClient(host, options...)
	if err != nil {
		return nil, fmt.Errorf("mail server %q: %w", s.Server, err)
	}
	return c, nil
}
