package feed

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"strconv"

	"go.bug.st/serial"
)

// openSerial reads a serial line: ?baud=9600 (the usual), &data=7|8,
// &parity=none|even|odd, &stop=1|2.
func openSerial(u *url.URL) (opener, error) {
	port := u.Path
	if u.Opaque != "" {
		port = u.Opaque // serial:COM3
	}
	if port == "" || port == "/" {
		return nil, errors.New("name the port: serial:///dev/ttyUSB0, or serial:COM3 on Windows")
	}
	mode := &serial.Mode{BaudRate: 9600, DataBits: 8}
	q := u.Query()
	for key, to := range map[string]*int{"baud": &mode.BaudRate, "data": &mode.DataBits} {
		if text := q.Get(key); text != "" {
			n, err := strconv.Atoi(text)
			if err != nil || n < 5 || n > 4_000_000 || key == "data" && n > 8 {
				return nil, fmt.Errorf("%s=%s: write a number such as baud=115200 or data=8", key, text)
			}
			*to = n
		}
	}
	parities := map[string]serial.Parity{"": serial.NoParity, "none": serial.NoParity, "even": serial.EvenParity, "odd": serial.OddParity}
	stops := map[string]serial.StopBits{"": serial.OneStopBit, "1": serial.OneStopBit, "2": serial.TwoStopBits}
	var known bool
	if mode.Parity, known = parities[q.Get("parity")]; !known {
		return nil, fmt.Errorf("parity=%s: write none, even or odd", q.Get("parity"))
	}
	if mode.StopBits, known = stops[q.Get("stop")]; !known {
		return nil, fmt.Errorf("stop=%s: write 1 or 2", q.Get("stop"))
	}
	return func(ctx context.Context, w *Wire) error {
		p, err := serial.Open(port, mode)
		if err != nil {
			return fmt.Errorf("open the serial line: %w", err)
		}
		defer until(ctx, p)()
		return w.stream(ctx, p)
	}, nil
}
