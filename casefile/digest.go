package casefile

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"strings"
)

// keyBytes is the length of the secret: that of its hash, as RFC 2104 advises.
const keyBytes = sha256.Size

func (f *Folder) keepKey(key []byte) error {
	return f.write(keyName, strings.NewReader(hex.EncodeToString(key)+"\n"))
}

// Digest makes the digest of a vehicle identification number with the secret of this case
// (HMAC-SHA-256, RFC 2104), after four bytes that name the secret: "1a2b3c4d:…". Equal digests are
// one number. Without the secret nobody can try numbers against it.
func (f *Folder) Digest() (func(vin string) string, error) {
	text, err := f.readSome(keyName, 1<<10)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s is missing; checks of this case cannot be compared by the car's number", f.Path(keyName))
	}
	if err != nil {
		return nil, err
	}
	key, err := hex.DecodeString(string(bytes.TrimSpace(text)))
	if err != nil || len(key) != keyBytes {
		return nil, fmt.Errorf("%s is no key: it has to be %d bytes in hexadecimal", f.Path(keyName), keyBytes)
	}
	return func(vin string) string { return digest(key, vin) }, nil
}

func digest(key []byte, vin string) string {
	name := sha256.Sum256(key)
	mac := hmac.New(sha256.New, key)
	_, _ = mac.Write([]byte(strings.ToUpper(strings.TrimSpace(vin)))) // never fails (hash.Hash)
	return fmt.Sprintf("%x:%x", name[:4], mac.Sum(nil))
}
