package expose

import (
	"net/http"
	"net/http/httptest"
	"os"
	"testing"
)

func TestOnlyNamesOfThisMachineAreServed(t *testing.T) {
	own, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	h := Hosts(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}), "Desk.Example")
	for host, want := range map[string]int{
		"127.0.0.1:8080": 200, "[::1]:8080": 200, "::1": 200, "192.168.1.4": 200, "localhost:8080": 200, "LOCALHOST": 200,
		own + ":8080": 200, own + ".local": 200, "desk.example:8080": 200, "desk.example.": 200,
		"evil.example": 421, "evil.example:8080": 421, "127.0.0.1.evil.example": 421, "localhost.evil.example": 421, "": 421,
	} {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Host = host
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != want {
			t.Errorf("%q: %d, want %d", host, w.Code, want)
		}
	}
}
