package feed

import (
	"fmt"
	"net"
	"strings"
	"testing"

	mqttserver "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/listeners"

	"fairlead/deploy/proof"
)

const wireMap = "map: 1\ndevice: willow\nrole: ball\nformat: csv\ncsv: {header: false, cells: 2}\nshot_id: {column: 1}\nfields: {carry: " +
	"{column: 2, unit: m}}\n"

func wireOf(t *testing.T, text, address string) *Wire {
	t.Helper()
	w, err := NewWire(WireConfig{Map: parsed(t, text), URL: address})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// freePort is an address that nothing listens on at the moment.
func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// say writes to an address until something listens there.
func say(t *testing.T, network, address, text string) {
	t.Helper()
	proof.Until(t, "nothing listens at "+address, func() bool {
		c, err := net.Dial(network, address)
		if err != nil {
			return false
		}
		defer c.Close()
		_, err = c.Write([]byte(text))
		return err == nil
	})
}

func TestLinesByTCP(t *testing.T) {
	// A device that calls, once with a line cut short.
	address := freePort(t)
	k := newKeeper()
	stop := running(t, wireOf(t, wireMap, "tcp-listen://"+address), k)
	say(t, "tcp", address, "1,150\n2,15")
	say(t, "tcp", address, "3,152\r\n")
	got := k.until(t, 3)
	stop()
	ids := map[string]bool{}
	for _, e := range got {
		ids[e.DeviceShotId] = true
		if !strings.HasPrefix(e.File, "tcp-listen ") {
			t.Errorf("file %q", e.File)
		}
	}
	if len(ids) != 3 {
		t.Errorf("shots %v", raws(got))
	}

	// A device that is called, and that ends the connection now and then.
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	k = newKeeper()
	stop = running(t, wireOf(t, wireMap, "tcp://"+l.Addr().String()), k)
	for i := range 2 {
		c, err := l.Accept()
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(c, "%d,150\n", i+1)
		k.until(t, i+1)
		c.Close()
	}
	stop()
}

func TestLinesByUDP(t *testing.T) {
	c, err := net.ListenPacket("udp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := c.LocalAddr().String()
	c.Close()
	k := newKeeper()
	w := wireOf(t, wireMap, "udp://"+address)
	stop := running(t, w, k)
	proof.Until(t, "nothing is taken", func() bool { return w.State().State == StateOK })
	say(t, "udp", address, "1,150\n2,151\n")
	say(t, "udp", address, "3,152")
	wantRaws(t, k.until(t, 3), "1,150\n2,151\n3,152")
	stop()
}

func TestMessagesByMQTT(t *testing.T) {
	address := freePort(t)
	broker := mqttserver.New(&mqttserver.Options{InlineClient: true})
	if err := broker.AddHook(new(auth.AllowHook), nil); err != nil {
		t.Fatal(err)
	}
	if err := broker.AddListener(listeners.NewTCP(listeners.Config{ID: "t", Address: address})); err != nil {
		t.Fatal(err)
	}
	go broker.Serve()
	defer broker.Close()
	k := newKeeper()
	text := "map: 1\ndevice: willow\nrole: ball\nformat: json\nrecords: shots\nshot_id: {column: id}\nfields: {carry: {column: c, unit: m}}\n"
	w := wireOf(t, text, "mqtt://"+address+"/bay/north/")
	stop := running(t, w, k)
	proof.Until(t, "it is not subscribed", func() bool {
		return w.State().State == StateOK && broker.Info.Clone().Subscriptions > 0
	})
	for _, m := range []string{`{"shots":[{"id":"a","c":150},{"id":"b","c":151}]}`, `{"shots":[{"id":"c","c":"far"}]}`} {
		if err := broker.Publish("bay/north/ball", []byte(m), false, 1); err != nil {
			t.Fatal(err)
		}
	}
	got := k.until(t, 3)
	stop()
	if !got[0].Valid() || !got[1].Valid() || got[2].Valid() {
		t.Errorf("%v", got)
	}
}

func TestWrongWires(t *testing.T) {
	for address, says := range map[string]string{
		"tcp://here": "HOST:PORT", "ftp://a:1": "begin it with", "serial://": "name the port", "serial:///dev/ttyS0?baud=fast": "baud=fast",
		"serial:///dev/ttyS0?parity=some": "parity=some", "mqtt://host": "TOPIC", "udp://:1/x": "HOST:PORT",
	} {
		if err := CheckWire(address); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", address, err)
		}
	}
	bare := strings.Replace(wireMap, "shot_id: {column: 1}\n", "shot_id: {scope: device}\n", 1)
	if _, err := NewWire(WireConfig{Map: parsed(t, bare), URL: "tcp://a:1"}); err == nil || !strings.Contains(err.Error(), "shot_id") {
		t.Errorf("without an identity: %v", err)
	}
}
