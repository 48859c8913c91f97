package store

import (
	"bytes"
	"crypto/sha256"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Report says what Verify went through.
type Report struct {
	Entries int
	IDs     int
	Head    traveler.Seq
	Link    story.Hash
	Epoch   string
	Last    time.Time // when the last entry arrived

	named string // the newest epoch that an entry named
}

// HeadText is the end of the record as it is passed on, see ParseHead.
func (r *Report) HeadText() string { return head{r.Head, r.Link}.String() }

// raw is a log whose record and index can be read as they lie.
type raw interface {
	walk(from traveler.Seq, yield func(linked) (bool, error)) error
	eachID(yield func(traveler.ScanID, traveler.Seq) (bool, error)) error
}

// Verify walks the record of a File or Mem, links its chain again, and compares
// the index of ids with it in both directions. The error, of KindCorrupt, names
// the first fault.
func Verify(log story.Log) (Report, error) {
	r := Report{Epoch: log.Epoch()}
	in, ok := log.(raw)
	if !ok {
		return r, traveler.Fail(traveler.KindInternal, "store.verify.kind")
	}
	if err := in.walk(1, func(l linked) (bool, error) { return true, r.entry(log, l) }); err != nil {
		return r, err
	}
	if seq, hash := log.Head(); seq != r.Head || hash != r.Link {
		return r, bad("store.verify.head", seq.String(), r.Head.String())
	}
	if r.named != "" && r.named != r.Epoch {
		return r, bad("store.verify.epoch", r.Epoch, r.named)
	}
	n := 0
	err := in.eachID(func(id traveler.ScanID, seq traveler.Seq) (bool, error) {
		n++
		if n <= r.IDs {
			return true, nil
		}
		return false, bad("store.verify.extra", traveler.Seq(n).String(), traveler.Seq(r.IDs).String())
	})
	return r, err
}

// entry checks the next row of the record. That every entry's id leads to that
// entry, and that there are as many ids as entries with one, makes the index
// complete both ways.
func (r *Report) entry(log story.Log, l linked) error {
	if l.seq != r.Head+1 {
		return bad("store.verify.gap", (r.Head + 1).String(), l.seq.String())
	}
	if link := sha256.Sum256(append(r.Link[:], l.body()...)); link != l.link() {
		return bad("store.verify.chain", l.seq.String())
	}
	e, err := decode(l.seq, l.body())
	if err != nil {
		return bad("store.verify.entry", l.seq.String(), err.Error())
	}
	if id := e.ID(); id != "" {
		if seq, err := log.Find(id); err != nil || seq != l.seq {
			return bad("store.verify.id", l.seq.String(), string(id))
		}
		r.IDs++
	}
	if e.Epoch != "" {
		r.named = e.Epoch
	}
	r.Entries, r.Head, r.Link, r.Last = r.Entries+1, l.seq, l.link(), e.Arrived
	return nil
}

func bad(key string, args ...string) error { return traveler.Fail(traveler.KindCorrupt, key, args...) }

// VerifyNewest links the chain of the newest entries of a File or Mem again, at
// most so many, and says how many it went through. The error, of KindCorrupt,
// names the first fault.
func VerifyNewest(log story.Log, most int) (checked int, err error) {
	in, ok := log.(raw)
	if !ok {
		return 0, traveler.Fail(traveler.KindInternal, "store.verify.kind")
	}
	end, hash := log.Head()
	first := traveler.Seq(1)
	if end > traveler.Seq(most) {
		first = end - traveler.Seq(most) + 1
	}
	var at head
	if first > 1 {
		if at, err = headAt(in, first-1); err != nil {
			return 0, err
		}
	}
	err = in.walk(first, func(l linked) (bool, error) {
		if l.seq > end {
			return false, nil // written since
		}
		if l.seq != at.seq+1 {
			return false, bad("store.verify.gap", (at.seq + 1).String(), l.seq.String())
		}
		if sha256.Sum256(append(at.link[:], l.body()...)) != l.link() {
			return false, bad("store.verify.chain", l.seq.String())
		}
		at = head{l.seq, l.link()}
		checked++
		return true, nil
	})
	if err == nil && at != (head{end, hash}) {
		err = bad("store.verify.head", end.String(), at.seq.String())
	}
	return checked, err
}

// headAt is the record's end as it was after an entry.
func headAt(in raw, seq traveler.Seq) (h head, err error) {
	err = in.walk(seq, func(l linked) (bool, error) {
		h = head{l.seq, l.link()}
		return false, nil
	})
	if err == nil && h.seq != seq {
		err = bad("store.verify.gap", seq.String(), h.seq.String())
	}
	return h, err
}

// VerifyHead reports whether the record of a File or Mem has an end of before in
// it, of whose link the first bytes are known. The error, of KindCorrupt, says
// that the record ends earlier, or holds something else there.
func VerifyHead(log story.Log, seq traveler.Seq, link []byte) error {
	in, ok := log.(raw)
	if !ok {
		return traveler.Fail(traveler.KindInternal, "store.verify.kind")
	}
	if end, _ := log.Head(); seq > end || seq == 0 {
		return bad("store.verify.cut", end.String(), seq.String())
	}
	h, err := headAt(in, seq)
	if err == nil && !bytes.HasPrefix(h.link[:], link) {
		err = bad("store.verify.other", seq.String())
	}
	return err
}
