package store

import (
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// NoteName is the name of the file beside the data file that says how far the
// record had come: a chain of hashes alone hides a tail that was cut off.
const NoteName = "tallywalk.head"

func (f *File) notePath() string { return filepath.Join(filepath.Dir(f.path), NoteName) }

// noteful reports whether a file is the one of its folder: copies have no note.
func (f *File) noteful() bool { return filepath.Base(f.path) == FileName && !f.opt.NoSync }

// Note writes the end of the record beside the file, if it moved since. It is
// never ahead of the file. The error is one of the disk.
func (f *File) Note() error {
	f.headMu.Lock()
	defer f.headMu.Unlock()
	if f.opt.Look || !f.noteful() || f.head == f.noted || f.head.seq == 0 {
		return nil
	}
	if err := WriteWhole(f.notePath(), []byte(f.head.String()+"\n")); err != nil {
		return f.fault("note the end of the record", err)
	}
	f.noted = f.head
	return nil
}

// lastNoted reads what lies beside the file; nothing when it cannot be read,
// since it was then not written to its end.
func (f *File) lastNoted() head {
	if !f.noteful() {
		return head{}
	}
	data, err := os.ReadFile(f.notePath())
	if err != nil {
		return head{}
	}
	h, err := parseHead(strings.TrimSpace(string(data)))
	if err != nil {
		return head{}
	}
	return h
}

// atLeastNoted refuses a file that ends before what its folder held once, or
// holds something else there.
func (f *File) atLeastNoted(db *bolt.DB) error {
	noted := f.lastNoted()
	f.headMu.Lock()
	defer f.headMu.Unlock()
	f.noted = noted
	switch {
	case noted.seq == 0 || noted == f.head:
		return nil
	case noted.seq > f.head.seq:
		return f.corrupt("store.cut", f.head.seq.String(), noted.seq.String())
	}
	return db.View(func(tx *bolt.Tx) error {
		v := tx.Bucket(bucketRecord).Get(seqKey(noted.seq))
		if len(v) < len(noted.link) || string(v[:len(noted.link)]) != string(noted.link[:]) {
			return f.corrupt("store.other", noted.seq.String())
		}
		return nil
	})
}

// String is a head as people pass it on, such as 1200:9f3c...
func (h head) String() string { return h.seq.String() + ":" + hex.EncodeToString(h.link[:]) }

func parseHead(s string) (head, error) {
	seq, link, err := ParseHead(s)
	if err != nil || len(link) != len(story.Hash{}) {
		return head{}, errors.Join(err, errNoHead)
	}
	return head{seq, story.Hash(link)}, nil
}

var errNoHead = errors.New("is no end of a record such as 1200:9f3c11ab77e04d21")

// ParseHead reads an end of a record as backups, exports and cards say it: its
// sequence and the first bytes of its link, at least four. The error says that
// it is none.
func ParseHead(s string) (traveler.Seq, []byte, error) {
	num, hash, ok := strings.Cut(strings.TrimSpace(s), ":")
	if !ok { // as it stands on a card
		num, hash, ok = strings.Cut(strings.TrimSpace(s), " ")
	}
	seq, err := strconv.ParseUint(strings.ReplaceAll(num, ",", ""), 10, 64)
	link, herr := hex.DecodeString(strings.ReplaceAll(hash, " ", ""))
	if !ok || err != nil || herr != nil || len(link) < 4 || len(link) > len(story.Hash{}) {
		return 0, nil, errNoHead
	}
	return traveler.Seq(seq), link, nil
}

// WriteWhole writes a file that is there whole or not at all. It fails as the disk does.
func WriteWhole(name string, data []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), filepath.Base(name)+".*.part")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}
