package gate

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
)

// Costs of argon2id: 19 MiB and two passes, as OWASP's password storage cheat
// sheet asks at least. What was hashed with other costs is still read.
var argonMemory uint32 = 19 << 10 // KiB; tests hash with less

const (
	argonTime, argonLanes = 2, 1 // passes, lanes
	saltBytes, sumBytes   = 16, 32
	// Bounds of the costs that a stored hash may name, so that a damaged file does not ask for all of the memory.
	mostMemory, mostTime, mostLanes = 256 << 10, 16, 8
)

const (
	leastPassword, mostPassword = 10, 200
	leastPIN, mostPIN           = 4, 8
)

// hashing bounds how many hashes are computed at once: each takes 19 MiB.
var hashing = make(chan struct{}, 2)

// hashed is a secret as argon2id writes it down.
func hashed(secret string) string {
	hashing <- struct{}{}
	defer func() { <-hashing }()
	salt := make([]byte, saltBytes)
	_, _ = rand.Read(salt)
	sum := argon2.IDKey([]byte(secret), salt, argonTime, argonMemory, argonLanes, sumBytes)
	code := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, argonMemory, argonTime, argonLanes, code(salt), code(sum))
}

// matches says whether a secret is the one that was hashed. It takes as long
// where there is nothing to match, so that nobody learns who has an account.
func matches(hash, secret string) bool {
	known := hash != ""
	if !known {
		hash = nobodys
	}
	var version, memory, passes, lanes int
	parts := strings.Split(hash, "$")
	if len(parts) != 6 || parts[1] != "argon2id" {
		return false
	}
	if _, err := fmt.Sscanf(parts[2]+" "+parts[3], "v=%d m=%d,t=%d,p=%d", &version, &memory, &passes, &lanes); err != nil {
		return false
	}
	salt, err1 := base64.RawStdEncoding.DecodeString(parts[4])
	want, err2 := base64.RawStdEncoding.DecodeString(parts[5])
	if err1 != nil || err2 != nil || version != argon2.Version || len(want) < 16 ||
		memory < 8 || memory > mostMemory || passes < 1 || passes > mostTime || lanes < 1 || lanes > mostLanes {
		return false
	}
	hashing <- struct{}{}
	defer func() { <-hashing }()
	got := argon2.IDKey([]byte(secret), salt, uint32(passes), uint32(memory), uint8(lanes), uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1 && known
}

// nobodys is a hash of the usual costs that nothing matches.
var nobodys = fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, argonMemory, argonTime, argonLanes,
	base64.RawStdEncoding.EncodeToString(make([]byte, saltBytes)), base64.RawStdEncoding.EncodeToString(make([]byte, sumBytes)))

// checkPassword says what is wrong with a password that someone chose.
func checkPassword(password, name string) error {
	switch n := utf8.RuneCountInString(password); {
	case n < leastPassword || len(password) > mostPassword:
		return fmt.Errorf("password: give %d signs or more, at most %d bytes: a few words that only you put together", leastPassword,
			mostPassword)
	case strings.Contains(strings.ToLower(password), strings.ToLower(name)) && name != "":
		return fmt.Errorf("password: it holds your name: choose one that does not")
	case strings.Count(password, password[:1]) == len(password):
		return fmt.Errorf("password: it is one sign over and over: choose another")
	}
	return nil
}

// checkPIN says what is wrong with a PIN.
func checkPIN(pin string) error {
	digits := strings.IndexFunc(pin, func(r rune) bool { return r < '0' || r > '9' }) < 0
	switch {
	case !digits || len(pin) < leastPIN || len(pin) > mostPIN:
		return fmt.Errorf("PIN: give %d to %d digits", leastPIN, mostPIN)
	case strings.Count(pin, pin[:1]) == len(pin) || strings.Contains("0123456789876543210", pin):
		return fmt.Errorf("PIN: %s is the first that anybody tries: choose another", pin)
	}
	return nil
}

// newKey makes a key of 256 random bits.
func newKey() string {
	var b [32]byte
	_, _ = rand.Read(b[:])
	return base64.RawURLEncoding.EncodeToString(b[:])
}

// sumOf is what a key is known by: it is random, so a plain hash tells nothing.
func sumOf(key string) string {
	sum := sha256.Sum256([]byte(key))
	return hex.EncodeToString(sum[:])
}

// letters are those that nobody takes for one another.
const letters = "23456789abcdefghjkmnpqrstuvwxyz"

// newCode makes a code to be typed: 31 letters, so n of them hold 4.95 n bits.
func newCode(n int) string {
	out := make([]byte, 0, n)
	for len(out) < n {
		var b [1]byte
		_, _ = rand.Read(b[:])
		if int(b[0]) < 256/len(letters)*len(letters) { // each letter as likely
			out = append(out, letters[int(b[0])%len(letters)])
		}
	}
	return string(out)
}

// plainCode is a code as it was made, however it was typed.
func plainCode(typed string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(letters, r) {
			return r
		}
		return -1
	}, strings.ToLower(typed))
}

// shownCode is a code with a dash after each four letters.
func shownCode(code string) string {
	var b strings.Builder
	for i, r := range code {
		if i > 0 && i%4 == 0 {
			b.WriteByte('-')
		}
		b.WriteRune(r)
	}
	return b.String()
}
