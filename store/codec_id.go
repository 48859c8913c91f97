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
	n := 0
	for i := range len(id) {
		if id[i] == '-' {
			continue
		}
		raw[n/2] = raw[n/2]<<4 | nibble(id[i])
		n++
	}
	return raw, nil
}

func nibble(c byte) byte {
	if c <= '9' {
		return c - '0'
	}
	return c - 'a' + 10
}

func nameID(raw []byte) traveler.ScanID {
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
	return nameID(raw), nil
}
