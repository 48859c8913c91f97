package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"

	bolt "go.etcd.io/bbolt"

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

// What is wrong with a group.
var (
	errGroup = errors.New("not a group of entries that follows")
	errLink  = errors.New("the chain comes to another link")
)

// ReadGroup reads what Append wrote, of a group that follows the end of a record. It
// fails with KindCorrupt when it is none, or does not follow: another sequence, or a
// chain that comes to another link.
func ReadGroup(data []byte, seq traveler.Seq, link story.Hash) (*Group, error) {
	if from, err := groupFrom(data); err != nil || from != seq {
		return nil, brokenGroup(seq, errGroup)
	}
	return ReadRest(data, seq, link)
}

// ReadRest is ReadGroup for one that may begin earlier, as in a stream that was made of
// another server's file: what the record has already is left out. The group is nil when
// that is all of it; then its last link is not looked at. It fails as ReadGroup does.
func ReadRest(data []byte, seq traveler.Seq, link story.Hash) (*Group, error) {
	g := &Group{from: head{seq, link}}
	from, bodies, end, err := bodiesOf(data)
	if err != nil || from > seq {
		return nil, brokenGroup(seq, errGroup)
	}
	if last := from + traveler.Seq(len(bodies)); last <= seq {
		if last == seq && end != link {
			return nil, brokenGroup(seq, errLink)
		}
		return nil, nil
	}
	bodies = bodies[seq-from:]
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
		return nil, brokenGroup(at.seq, errLink)
	}
	g.end = at
	return g, nil
}

// groupFrom is the sequence that the entries of a group follow. It fails when the bytes
// are none.
func groupFrom(data []byte) (traveler.Seq, error) {
	from, n := binary.Uvarint(data)
	if n <= 0 {
		return 0, errGroup
	}
	return traveler.Seq(from), nil
}

// GroupEnd is the sequence of the last entry of a group. It fails when the bytes are none.
func GroupEnd(data []byte) (traveler.Seq, error) {
	from, bodies, _, err := bodiesOf(data)
	return from + traveler.Seq(len(bodies)), err
}

// bodiesOf takes a group apart.
func bodiesOf(data []byte) (from traveler.Seq, bodies [][]byte, end story.Hash, err error) {
	first, n := binary.Uvarint(data)
	if n <= 0 {
		return 0, nil, end, errGroup
	}
	data = data[n:]
	count, n := binary.Uvarint(data)
	if n <= 0 || count == 0 || count > uint64(len(data)) {
		return 0, nil, end, errGroup
	}
	data = data[n:]
	for range count {
		size, n := binary.Uvarint(data)
		if n <= 0 || size == 0 || size > uint64(len(data)-n) {
			return 0, nil, end, errGroup
		}
		bodies, data = append(bodies, data[n:n+int(size)]), data[n+int(size):]
	}
	if len(data) != len(end) {
		return 0, nil, end, errGroup
	}
	copy(end[:], data)
	return traveler.Seq(first), bodies, end, nil
}

func brokenGroup(seq traveler.Seq, err error) error {
	return &traveler.Error{
		Kind: traveler.KindCorrupt, Doing: "read the shared record",
		Say: traveler.Msg{Key: "stream.broken", Args: []string{seq.String()}}, Err: err,
	}
}

// Groups calls yield for the record in groups of at most so many entries and, unless one
// alone is larger, so many bytes. It fails as Entries does, and as yield does.
func (f *File) Groups(entries, bytes int, yield func(*Group) error) error {
	g, size := &Group{}, 0
	give := func() error {
		if len(g.kept) == 0 {
			return nil
		}
		last := &g.kept[len(g.kept)-1]
		g.end = head{last.seq, last.link()}
		err := yield(g)
		g, size = &Group{from: g.end}, 0
		return err
	}
	err := f.walk(1, func(l linked) (bool, error) {
		if len(g.kept) > 0 && (len(g.kept) >= entries || size+len(l.value) > bytes) {
			if err := give(); err != nil {
				return false, err
			}
		}
		g.kept, size = append(g.kept, l), size+len(l.value)
		return true, nil
	})
	if err != nil {
		return err
	}
	return give()
}

// Follows notes in a file that it is one server's part of a record that several keep: from
// then on nobody writes it without them. It fails as the disk does.
func (f *File) Follows(mark []byte) error {
	end := head{}
	end.seq, end.link = f.Head()
	return f.keep(&kept{end: end, format: formatPlain, mark: mark})
}

// StreamMark is how far the file had read a record that lies elsewhere; nil when the
// record is its own. It fails as reading the file does.
func (f *File) StreamMark() (mark []byte, err error) {
	err = f.view("read", func(tx *bolt.Tx) error {
		mark = bytes.Clone(tx.Bucket(bucketMeta).Get(keyMark))
		return nil
	})
	return mark, err
}

// leave makes a file that followed a record of several servers one of its own.
func (f *File) leave() error {
	return f.update("leave the shared record",
		func(tx *bolt.Tx) error { return tx.Bucket(bucketMeta).Delete(keyMark) })
}

// Part fails with KindConflict when a file is one server's part of a record that several
// keep, which nobody may write alone.
func (f *File) Part() error {
	mark, err := f.StreamMark()
	if err == nil && mark != nil {
		err = traveler.Fail(traveler.KindConflict, "stream.part", f.path)
	}
	return err
}
