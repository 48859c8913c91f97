package store

import (
	"encoding/base64"
	"encoding/hex"
	"errors"

	"tallywalk/traveler"
)

// rawID is the 16 bytes of a UUID.
func rawID(id traveler.ScanID) (raw [16]byte, err error) {
	if !id.Valid() {
		return raw, errors.New("the id " + string(id) + " is no UUID")
	}
	for i, at := range hexPairs {
		raw[i] = nibble(id[at])<<4 | nibble(id[at+1])
	}
	return raw, nil
}

// hexPairs is where the bytes of a UUID stand in its text.
var hexPairs = [16]int{0, 2, 4, 6, 9, 11, 14, 16, 19, 21, 24, 26, 28, 30, 32, 34}

func nibble(c byte) byte {
	if c <= '9' {
		return c - '0'
	}
	return c - 'a' + 10
}

// NameID writes 16 bytes as a UUID.
func NameID(raw []byte) traveler.ScanID {
	h := hex.EncodeToString(raw)
	return traveler.ScanID(h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:])
}

// packID writes a UUID in 22 characters.
func packID(id traveler.ScanID) (string, error) {
	raw, err := rawID(id)
	return base64.RawURLEncoding.EncodeToString(raw[:]), err
}

func unpackID(s string) (traveler.ScanID, error) {
	raw, err := base64.RawURLEncoding.Strict().DecodeString(s)
	if err != nil || len(raw) != 16 {
		return "", errors.New("no id where one should be")
	}
	return NameID(raw), nil
}
