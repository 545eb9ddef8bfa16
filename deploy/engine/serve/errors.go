package serve

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"strconv"
	"strings"

	"fairlead/deploy/engine/chdb"
)

// ClickHouse's numbers for the troubles that are ours and not the engine's.
const (
	codeBadArguments = 36
	codeNotSupported = 48
	codeReadBody     = 210 // NETWORK_ERROR
	codeDisk         = 243 // NOT_ENOUGH_SPACE
	codeDenied       = 497 // ACCESS_DENIED
	codeTooLarge     = 131 // TOO_LARGE_STRING_SIZE
	codeAuth         = 516 // AUTHENTICATION_FAILED
	codeUnknown      = 1002
)

var codeNames = map[int]string{
	codeBadArguments: "BAD_ARGUMENTS", codeNotSupported: "NOT_IMPLEMENTED", codeReadBody: "NETWORK_ERROR",
	codeDisk: "NOT_ENOUGH_SPACE", codeTooLarge: "TOO_LARGE_STRING_SIZE", codeAuth: "AUTHENTICATION_FAILED", codeUnknown: "UNKNOWN_EXCEPTION",
}

var codeText = regexp.MustCompile(`^Code:\s*(\d+)\.`)

func codeOf(err error) int {
	var e *chdb.Error
	if errors.As(err, &e) {
		return e.Code
	}
	if m := codeText.FindStringSubmatch(err.Error()); m != nil {
		n, _ := strconv.Atoi(m[1])
		return n
	}
	return codeUnknown
}

// writeError answers as ClickHouse does, so that clients make their exception of it.
func writeError(w http.ResponseWriter, status, code int, text string) {
	text = asException(code, text)
	w.Header().Del("Content-Encoding")
	w.Header().Set("Content-Type", "text/plain; charset=UTF-8")
	w.Header().Set("X-ClickHouse-Exception-Code", strconv.Itoa(code))
	w.WriteHeader(status)
	_, _ = w.Write([]byte(text + "\n"))
}

func asException(code int, text string) string {
	if codeText.MatchString(text) {
		return text
	}
	return fmt.Sprintf("Code: %d. DB::Exception: %s (%s)", code, text, codeNames[code])
}

// exceptionTag tells an exception of ours in a body from data that looks like one.
func exceptionTag() string {
	var b [8]byte
	_, _ = rand.Read(b[:])
	return hex.EncodeToString(b[:])
}

// exceptionBlock is what follows output that went out before the statement failed. The layout is that of
// ClickHouse's WriteBufferFromHTTPServerResponse; at most 16 KiB of text.
func exceptionBlock(tag, text string) []byte {
	text = asException(codeUnknown, strings.TrimSpace(text))
	if len(text) > 15<<10 {
		text = text[:15<<10]
	}
	return fmt.Appendf(nil, "\r\n__exception__\r\n%s\r\n%s\n%d %s\r\n__exception__\r\n", tag, text, len(text), tag)
}
