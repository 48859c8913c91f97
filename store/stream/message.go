package stream

import (
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// What a message of the record is. The first byte is the form, the second the kind.
const (
	form      = 1
	kindGroup = 'g'
	kindClaim = 'c'
	kindEnd   = 'e'
)

// claim says that a server decides from now on.
type claim struct {
	Term     uint64       `json:"term"`
	Server   string       `json:"server"`
	Instance string       `json:"instance"` // another each time that the server starts
	Seq      traveler.Seq `json:"seq"`      // end of the record, which all know by then
	Link     string       `json:"link"`     // of the chain there, hex
	At       time.Time    `json:"at"`
}

// end says that the record goes on elsewhere.
type end struct {
	To string `json:"to"` // where, in words
}

func groupMessage(term uint64, g *store.Group) []byte {
	return g.Append(binary.AppendUvarint([]byte{form, kindGroup}, term))
}

func jsonMessage(kind byte, v any) ([]byte, error) {
	data, err := json.Marshal(v)
	return append([]byte{form, kind}, data...), err
}

var errForm = errors.New("a message that this version cannot read; a newer one may have written it")

// kindOf takes the kind from a message.
func kindOf(data []byte) (kind byte, rest []byte, err error) {
	if len(data) < 3 || data[0] != form {
		return 0, nil, errForm
	}
	return data[1], data[2:], nil
}

// termOf takes the term from a group.
func termOf(rest []byte) (uint64, []byte, error) {
	term, n := binary.Uvarint(rest)
	if n <= 0 {
		return 0, nil, errForm
	}
	return term, rest[n:], nil
}

func claimIn(rest []byte) (c claim, err error) {
	err = json.Unmarshal(rest, &c)
	return c, err
}

// mark is how far a server's own file holds the stream.
type mark struct {
	Stream string `json:"stream"` // its name and the time at which it was made
	Pos    uint64 `json:"pos"`    // sequence up to which all is held
	Term   uint64 `json:"term"`   // of the newest claim among it
}

func (m mark) bytes() []byte {
	data, err := json.Marshal(m)
	if err != nil {
		panic(err) // it has strings and numbers alone
	}
	return data
}

func readMark(data []byte) (m mark, err error) {
	err = json.Unmarshal(data, &m)
	return m, err
}

func linkText(h story.Hash) string { return hex.EncodeToString(h[:]) }
