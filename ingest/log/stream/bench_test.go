package stream

import (
	"crypto/tls"
	"path/filepath"
	"testing"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/authority"
)

// What identities and TLS cost: a bay publishes a batch and waits until the log has
// it, at a broker without either, with accounts and keys, and with TLS too. The three
// take turns, so that a machine's moods meet all of them; the ratios are the plain
// broker's time over the guarded one's.
func BenchmarkGuarded(b *testing.B) {
	const rounds = 40
	a, err := authority.Ensure(filepath.Join(b.TempDir(), "authority"), north.Studio, nil, time.Now())
	if err != nil {
		b.Fatal(err)
	}
	leaf, err := a.Leaf(nil, time.Now)
	if err != nil {
		b.Fatal(err)
	}
	k := &Keyring{Dir: filepath.Join(b.TempDir(), "keys")}
	if err := k.Ensure(Grant{Name: "bay-north", Role: RoleBay, Studio: north.Studio, Bay: north.Bay}); err != nil {
		b.Fatal(err)
	}
	layout := DefaultLayout()
	open := func(keyring *Keyring, shows *tls.Config) jetstream.JetStream {
		broker, err := StartBroker(BrokerOptions{Listen: "127.0.0.1:0", DataDir: b.TempDir(), Keyring: keyring, Layout: &layout, NoSync: true,
			TLS: shows})
		if err != nil {
			b.Fatal(err)
		}
		b.Cleanup(broker.Stop)
		l := Link{URL: "nats://" + broker.server.Addr().String(), Name: "bay", Inbox: north.InboxPrefix()}
		if keyring != nil {
			l.SeedFile = keyring.SeedFile("bay-north")
		}
		nc, js, err := Connect(l)
		if err != nil {
			b.Fatal(err)
		}
		b.Cleanup(nc.Close)
		if keyring == nil {
			if err := Declare(b.Context(), js, layout); err != nil {
				b.Fatal(err)
			}
		}
		return js
	}
	plain, keyed := open(nil, nil), open(k, nil)
	if _, err := k.Carry("bay-north", a.PEM()); err != nil {
		b.Fatal(err)
	}
	guarded := open(k, leaf.Config())
	batch := make([]Message, 256)
	for i := range batch {
		batch[i] = Message{Subject: north.ShotsSubject(), Data: make([]byte, 300)}
	}
	var many, one [3]time.Duration
	for b.Loop() {
		for range rounds {
			for i, js := range []jetstream.JetStream{plain, keyed, guarded} {
				begun := time.Now()
				if _, err := Publish(b.Context(), js, batch); err != nil {
					b.Fatal(err)
				}
				many[i] += time.Since(begun)
				begun = time.Now()
				if _, err := Publish(b.Context(), js, batch[:1]); err != nil {
					b.Fatal(err)
				}
				one[i] += time.Since(begun)
			}
		}
	}
	b.ReportMetric(many[0].Seconds()/many[1].Seconds(), "identities-ratio-to-raw")
	b.ReportMetric(many[0].Seconds()/many[2].Seconds(), "tls-ratio-to-raw")
	b.ReportMetric(one[0].Seconds()/one[1].Seconds(), "one-identities-ratio-to-raw")
	b.ReportMetric(one[0].Seconds()/one[2].Seconds(), "one-tls-ratio-to-raw")
	b.ReportMetric(float64(len(batch)*rounds*b.N)/many[2].Seconds(), "entries/s")
}
