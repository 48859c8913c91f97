package door

import (
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"strings"
	"time"
	"unicode"

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

// guessedFirst are words that say nothing in a password here, beside the name of its
// account (OWASP ASVS 5.0, 6.1.2): what the program is, its roles, and what people who
// must think of a password think of first. Common practice, no source.
var guessedFirst = []string{
	"administrator", "supervisor", "inspector", "operator", "tallywalk", "traveller", "workshop", "machine",
	"planner",
	"password", "passwort", "passw0rd", "contraseña", "hasło", "parola", "operador", "operatör", "welcome",
	"iloveyou",
	"1234567890", "12345678", "123456", "12345", "abc123", "qwertyuiop", "qwertzuiop", "qwerty", "qwertz",
}

const (
	leastOwn    = 6 // characters beside such words
	leastOthers = 5 // different characters
)

// easy reports whether a password is guessed first: it is little more than such words,
// or of very few characters, or says the same again and again. It is not looked at what kind of characters
// they are.
func easy(password, name string) bool {
	own := strings.ToLower(password)
	different := map[rune]bool{}
	for _, r := range own {
		different[r] = true
	}
	names := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) })
	own = strings.TrimFunc(once(own),
		func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	for _, w := range append(names, guessedFirst...) {
		if len(w) > 2 {
			own = strings.ReplaceAll(own, w, "")
		}
	}
	return len(different) < leastOthers || len([]rune(own)) < leastOwn
}

// once is what a text says that repeats itself to its end.
func once(s string) string {
	for n := 1; n <= len(s)/2; n++ {
		if len(s)%n == 0 && strings.Repeat(s[:n], len(s)/n) == s {
			return s[:n]
		}
	}
	return s
}

func (a *account) opens(password string) bool {
	salt, err := hex.DecodeString(a.Salt)
	if err != nil || len(password) > mostPassword {
		return false
	}
	return subtle.ConstantTimeCompare([]byte(hashPassword(password, salt)), []byte(a.Hash)) == 1
}
