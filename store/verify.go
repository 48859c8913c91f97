package store

import (
	"crypto/sha256"

	"tallywalk/traveler"
)

// Report says what Verify went through.
type Report struct {
	Entries int
	IDs     int
	Head    traveler.Seq
	Link    traveler.Hash
	Epoch   string
}

// raw is a log whose record and index can be read as they lie.
type raw interface {
	walk(from traveler.Seq, yield func(linked) (bool, error)) error
	eachID(yield func(traveler.ScanID, traveler.Seq) (bool, error)) error
}

// Verify walks the record of a File or Mem, links its chain anew, and compares
// the index of ids with it in both directions. The error, of KindCorrupt, names
// the first fault.
func Verify(log traveler.Log) (Report, error) {
	r := Report{Epoch: log.Epoch()}
	in, ok := log.(raw)
	if !ok {
		return r, traveler.Fail(traveler.KindInternal, "store.verify.kind")
	}
	if err := in.walk(1, func(l linked) (bool, error) { return true, r.entry(log, l) }); err != nil {
		return r, err
	}
	if seq, hash := log.Head(); seq != r.Head || hash != r.Link {
		return r, bad("store.verify.head", seqText(seq), seqText(r.Head))
	}
	n := 0
	err := in.eachID(func(id traveler.ScanID, seq traveler.Seq) (bool, error) {
		n++
		if n <= r.IDs {
			return true, nil
		}
		return false, bad("store.verify.extra", seqText(traveler.Seq(n)), seqText(traveler.Seq(r.IDs)))
	})
	return r, err
}

// entry checks the next row of the record. That every entry's id leads to that
// entry, and that there are as many ids as entries with one, makes the index
// complete both ways.
func (r *Report) entry(log traveler.Log, l linked) error {
	if l.seq != r.Head+1 {
		return bad("store.verify.gap", seqText(r.Head+1), seqText(l.seq))
	}
	if link := sha256.Sum256(append(r.Link[:], l.body()...)); link != l.link() {
		return bad("store.verify.chain", seqText(l.seq))
	}
	e, err := decode(l.seq, l.body())
	if err != nil {
		return bad("store.verify.entry", seqText(l.seq), err.Error())
	}
	if id := e.ID(); id != "" {
		if seq, err := log.Find(id); err != nil || seq != l.seq {
			return bad("store.verify.id", seqText(l.seq), string(id))
		}
		r.IDs++
	}
	r.Entries, r.Head, r.Link = r.Entries+1, l.seq, l.link()
	return nil
}

func bad(key string, args ...string) error { return traveler.Fail(traveler.KindCorrupt, key, args...) }
