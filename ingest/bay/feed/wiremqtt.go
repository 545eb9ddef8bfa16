package feed

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"fairlead/ingest/contract/event"
)

// openMQTT reads the messages of a topic, which may hold + and #.
func openMQTT(u *url.URL) (opener, error) {
	topic := plainPath(u)
	if u.Fragment != "" { // # begins a fragment in an address
		topic += "#"
	} else if len(u.String()) > 0 && u.String()[len(u.String())-1] == '/' {
		topic += "#"
	}
	if u.Hostname() == "" || topic == "" {
		return nil, errors.New("write mqtt://HOST:PORT/TOPIC; a topic that ends with / takes all below it")
	}
	server := &url.URL{Scheme: map[string]string{"mqtt": "tcp", "mqtts": "tls"}[u.Scheme], Host: u.Host}
	if u.Port() == "" {
		server.Host += map[string]string{"mqtt": ":1883", "mqtts": ":8883"}[u.Scheme]
	}
	return func(ctx context.Context, w *Wire) error {
		o := mqtt.NewClientOptions().AddBroker(server.String()).SetClientID("fairlead-" + event.NewID(time.Now())).
			SetAutoReconnect(false).SetConnectTimeout(10 * time.Second).SetOrderMatters(true)
		if u.User != nil {
			password, _ := u.User.Password()
			o.SetUsername(u.User.Username()).SetPassword(password)
		}
		lost := make(chan error, 1)
		fail := func(err error) {
			select {
			case lost <- err:
			default:
			}
		}
		o.SetConnectionLostHandler(func(_ mqtt.Client, err error) { fail(err) })
		c := mqtt.NewClient(o)
		if err := finished(ctx, c.Connect()); err != nil {
			return fmt.Errorf("connect to the MQTT broker: %w", err)
		}
		defer c.Disconnect(0)
		take := w.messages(ctx)
		// At least once: what comes twice has the same identity.
		err := finished(ctx, c.Subscribe(topic, 1, func(_ mqtt.Client, m mqtt.Message) {
			if err := take(m.Payload()); err != nil {
				fail(err)
			}
		}))
		if err != nil {
			return fmt.Errorf("subscribe to %s: %w", topic, err)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case err := <-lost:
			return err
		}
	}, nil
}

func finished(ctx context.Context, t mqtt.Token) error {
	select {
	case <-t.Done():
		return t.Error()
	case <-ctx.Done():
		return ctx.Err()
	}
}
