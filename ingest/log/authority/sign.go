package authority

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
)

// signedText begins what is signed, so that no signature is one of a certificate.
const signedText = "fairlead says\n"

func digest(text []byte) []byte {
	sum := sha256.Sum256(append([]byte(signedText), text...))
	return sum[:]
}

// Sign says that a text is of this authority's studio.
func (a *Authority) Sign(text []byte) ([]byte, error) {
	sign, err := a.key.Sign(rand.Reader, digest(text), crypto.SHA256)
	if err != nil {
		return nil, fmt.Errorf("sign as the studio: %w", err)
	}
	return sign, nil
}

// ErrNotSigned says that no authority that is trusted has signed a text.
var ErrNotSigned = errors.New("the authority that the key's file names has not signed it")

// Signed finds the certificate, of those in a PEM text, whose authority signed a text.
func Signed(certificates, text, sign []byte) (fingerprint string, err error) {
	for block, rest := pem.Decode(certificates); block != nil; block, rest = pem.Decode(rest) {
		c, err := x509.ParseCertificate(block.Bytes)
		if err != nil || !c.IsCA {
			continue
		}
		if key, ok := c.PublicKey.(*ecdsa.PublicKey); ok && ecdsa.VerifyASN1(key, digest(text), sign) {
			return Fingerprint(c.Raw), nil
		}
	}
	return "", ErrNotSigned
}
