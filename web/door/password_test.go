package door

import (
	"crypto/subtle"
	"testing"
)

// A password is kept as argon2id with at least 19 MiB, two passes and one lane (OWASP
// Password Storage Cheat Sheet, from memory). The same password with another salt is
// another hash, and a hash is 32 bytes.
func TestPasswordHash(t *testing.T) {
	t.Parallel()
	if argonMemory < 19*1024 || argonTime < 2 || argonLanes != 1 || argonBytes < 32 {
		t.Errorf("%d KiB, %d passes, %d lanes, %d bytes", argonMemory, argonTime, argonLanes, argonBytes)
	}
	one, two := hashPassword("long enough for this",
		[]byte("salt of the one")), hashPassword("long enough for this", []byte("salt of another"))
	if subtle.ConstantTimeCompare([]byte(one), []byte(two)) == 1 || len(one) != 43 {
		t.Errorf("%s and %s", one, two)
	}
	a := account{Salt: "0a0b", Hash: hashPassword("long enough for this", []byte{10, 11})}
	if !a.opens("long enough for this") || a.opens("long enough for that") || a.opens("") {
		t.Error("it opens with another password, or not with its own")
	}
}
