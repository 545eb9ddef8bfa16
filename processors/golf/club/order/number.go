package order

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"strings"

	"fairlead/processors/golf/club"
)

// Signs are those of an order's number: of signs that people take for one
// another (0 O D Q, 1 I L, 2 Z, 5 S, 6 G, 8 B, U V W, M N) one each at most.
// There are 23, a prime, so that the check below finds every wrong sign and
// every two neighbours that were exchanged.
const Signs = "23456789ACDEFHJKNPRTVXY"

const counted = 6 // signs before the check

// NumberFrom makes an order's number of what is unique to it (the id of its
// event) and of how many numbers of it were taken by other orders already: six
// signs and one to check them, 148 million numbers.
func NumberFrom(unique string, again int) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s/%d", unique, again))
	n := binary.BigEndian.Uint64(sum[:8])
	out := make([]byte, counted)
	for i := range out {
		out[i] = Signs[n%uint64(len(Signs))]
		n /= uint64(len(Signs))
	}
	return string(out) + string(check(string(out)))
}

// check is the last sign: places weigh 2 to 7, modulo the prime.
func check(first string) byte {
	sum := 0
	for i := range len(first) {
		sum += (i + 2) * strings.IndexByte(Signs, first[i])
	}
	return Signs[sum%len(Signs)]
}

var takenFor = strings.NewReplacer("B", "8", "G", "6", "S", "5", "Z", "2", "U", "V", "M", "N", "O", "D", "0", "D", "Q", "D", " ", "", "-",
	"")

// ParseNumber reads an order's number as people write it: small letters, spaces
// and a sign that was taken for another are forgiven, a wrong one is found. The
// error is a *club.InputError.
func ParseNumber(text string) (string, error) {
	number := takenFor.Replace(strings.ToUpper(strings.TrimSpace(text)))
	bad := func(reason string) (string, error) {
		return "", &club.InputError{Field: "order number", Value: fmt.Sprintf("%q", text), Reason: reason,
			Try: "read the seven signs of the label again"}
	}
	if len(number) != counted+1 {
		return bad("has not seven signs")
	}
	for i := range len(number) {
		if strings.IndexByte(Signs, number[i]) < 0 {
			return bad(fmt.Sprintf("has a sign that no number has, %q", number[i]))
		}
	}
	if check(number[:counted]) != number[counted] {
		return bad("is mistyped: its last sign does not fit the others")
	}
	return number, nil
}

// Label writes a number for people: K7P-4XA8.
func Label(number string) string {
	if len(number) != counted+1 {
		return number
	}
	return number[:3] + "-" + number[3:]
}
