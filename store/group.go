package store

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Group is entries that are kept together, all or none, as they lie in the record and
// linked to what stands before them.
type Group struct {
	from    head // what they follow
	kept    []linked
	entries []*traveler.Entry
	end     head
}

// Entries are those of the group; nobody may change them.
func (g *Group) Entries() []*traveler.Entry { return g.entries }

// From is the end of the record that the group follows.
func (g *Group) From() traveler.Seq { return g.from.seq }

// End is the end of the record with the group.
func (g *Group) End() (traveler.Seq, story.Hash) { return g.end.seq, g.end.link }

// LinkAfter makes a group of entries that follow the end of a record. It fails with
// KindConflict when their sequences do not.
func LinkAfter(seq traveler.Seq, link story.Hash, entries []*traveler.Entry) (*Group, error) {
	from := head{seq, link}
	kept, end, err := chain(from, seq, entries)
	if err != nil {
		return nil, err
	}
	return &Group{from: from, kept: kept, entries: entries, end: end}, nil
}

// Append appends the group as it goes from server to server: the sequence that it
// follows and the number of its entries as varints, each entry's length and body as it
// lies in the record, and the 32 bytes of the chain's link at its end.
func (g *Group) Append(b []byte) []byte {
	b = binary.AppendUvarint(b, uint64(g.from.seq))
	b = binary.AppendUvarint(b, uint64(len(g.kept)))
	for i := range g.kept {
		body := g.kept[i].body()
		b = binary.AppendUvarint(b, uint64(len(body)))
		b = append(b, body...)
	}
	return append(b, g.end.link[:]...)
}

// errGroup is the error of bytes that are no group.
var errGroup = errors.New("not a group of entries")

// ReadGroup reads what Append wrote, of a group that follows the end of a record. It
// fails with KindCorrupt when it is none, or does not follow: another sequence, or a
// chain that comes to another link.
func ReadGroup(data []byte, seq traveler.Seq, link story.Hash) (*Group, error) {
	g := &Group{from: head{seq, link}}
	bodies, end, err := bodiesOf(data, seq)
	if err != nil {
		return nil, brokenGroup(seq, err)
	}
	at := g.from
	for _, body := range bodies {
		value := append(append(make([]byte, 0, len(at.link)+len(body)), at.link[:]...), body...)
		at = head{at.seq + 1, sha256.Sum256(value)}
		copy(value, at.link[:])
		e, err := decode(at.seq, body)
		if err != nil {
			return nil, brokenGroup(at.seq, err)
		}
		g.kept, g.entries = append(g.kept, linked{at.seq, e.ID(), value}), append(g.entries, e)
	}
	if at.link != end {
		return nil, brokenGroup(at.seq, errors.New("the chain comes to another link"))
	}
	g.end = at
	return g, nil
}

// GroupFrom is the sequence that the entries of a group follow. It fails when the bytes
// are none.
func GroupFrom(data []byte) (traveler.Seq, error) {
	from, n := binary.Uvarint(data)
	if n <= 0 {
		return 0, errGroup
	}
	return traveler.Seq(from), nil
}

// bodiesOf takes a group apart, which must follow a sequence.
func bodiesOf(data []byte, seq traveler.Seq) (bodies [][]byte, end story.Hash, err error) {
	from, n := binary.Uvarint(data)
	if n <= 0 || traveler.Seq(from) != seq {
		return nil, end, errGroup
	}
	data = data[n:]
	count, n := binary.Uvarint(data)
	if n <= 0 || count == 0 || count > uint64(len(data)) {
		return nil, end, errGroup
	}
	data = data[n:]
	for range count {
		size, n := binary.Uvarint(data)
		if n <= 0 || size == 0 || size > uint64(len(data)-n) {
			return nil, end, errGroup
		}
		bodies, data = append(bodies, data[n:n+int(size)]), data[n+int(size):]
	}
	if len(data) != len(end) {
		return nil, end, errGroup
	}
	copy(end[:], data)
	return bodies, end, nil
}

func brokenGroup(seq traveler.Seq, err error) error {
	return &traveler.Error{
		Kind: traveler.KindCorrupt, Doing: "read the shared record",
		Say: traveler.Msg{Key: "stream.broken", Args: []string{seq.String()}}, Err: err,
	}
}
