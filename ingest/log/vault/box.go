package vault

import (
	"crypto/hmac"
	"crypto/sha256"
	"errors"
	"strings"

	"golang.org/x/crypto/chacha20poly1305"
)

// The nonce follows from the text, so that one text gives one box: XChaCha20-Poly1305
// with the first 24 bytes of HMAC-SHA-256 of the text under a key made of this one.
func (k key) seal(text string) []byte {
	box, err := chacha20poly1305.NewX(k.Secret)
	if err != nil {
		panic(err) // the length is ours
	}
	plain := padded(text)
	nonce := k.nonce(plain)
	return box.Seal(nonce, nonce, plain, []byte(k.ID))
}

func (k key) nonce(plain []byte) []byte {
	own := hmac.New(sha256.New, k.Secret)
	own.Write([]byte("fairlead text nonce"))
	mac := hmac.New(sha256.New, own.Sum(nil))
	mac.Write(plain)
	return mac.Sum(nil)[:chacha20poly1305.NonceSizeX:chacha20poly1305.NonceSizeX]
}

func (k key) open(data []byte) (string, error) {
	box, err := chacha20poly1305.NewX(k.Secret)
	if err != nil {
		return "", err
	}
	if len(data) < box.NonceSize() {
		return "", errors.New("too few bytes")
	}
	plain, err := box.Open(nil, data[:box.NonceSize()], data[box.NonceSize():], []byte(k.ID))
	if err != nil {
		return "", err
	}
	end := strings.LastIndexByte(string(plain), 0x80)
	if end < 0 {
		return "", errors.New("no end of the text")
	}
	return string(plain[:end]), nil
}

// padded hides a text's length to within 16 bytes.
func padded(text string) []byte {
	out := append([]byte(text), 0x80)
	for len(out)%16 != 0 {
		out = append(out, 0)
	}
	return out
}
