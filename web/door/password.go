package door

import (
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"strings"
	"time"

	"golang.org/x/crypto/argon2"

	"tallywalk/traveler"
)

// account is someone who signs in with a name and a password.
type account struct {
	// ID is another each time the account is made or gets a password; those made
	// before there were IDs have none.
	ID   string        `json:"id,omitempty"`
	Name string        `json:"name"`
	Role traveler.Role `json:"role"`
	Salt string        `json:"salt"`
	Hash string        `json:"hash"`
	Made time.Time     `json:"made"`
	By   string        `json:"by"`
	// Language is what the person chose; empty is for what the browser says.
	Language string `json:"language,omitempty"`
}

// argon2id with 19 MiB, two passes, one lane: the least that OWASP's password
// storage notes advise (from memory).
const (
	argonTime   = 2
	argonMemory = 19 * 1024
	argonLanes  = 1
	argonBytes  = 32

	leastPassword = 10
	mostPassword  = 200
)

func hashPassword(password string, salt []byte) string {
	return base64.RawStdEncoding.EncodeToString(
		argon2.IDKey([]byte(password), salt, argonTime, argonMemory, argonLanes, argonBytes),
	)
}

// goodName reports whether a text can be the name of an account, token, station
// or screen.
func goodName(name string) bool {
	return name != "" && traveler.CleanText(name, 60) && strings.TrimSpace(name) == name
}

func (a *account) opens(password string) bool {
	salt, err := hex.DecodeString(a.Salt)
	if err != nil || len(password) > mostPassword {
		return false
	}
	return subtle.ConstantTimeCompare([]byte(hashPassword(password, salt)), []byte(a.Hash)) == 1
}
