package store

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"sync"
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
	checkTables() error
	checkKeys(step func() error) error
}

// Verify walks the record of a File or Mem, links its chain again, compares the index of
// ids with it in both directions, finds each row by its key, and compares the rows of
// tables with their sums. The error, of
// KindCorrupt, names the first fault.
func Verify(log story.Log) (Report, error) {
	return VerifyStep(log, func(traveler.Seq) error { return nil })
}

// verifyStep is how many entries go between two steps of VerifyStep.
const verifyStep = 512

// VerifyStep does what Verify does. Others may go on adding: it goes as far as the record
// went when it began. step is called after some entries with how far it is, and ends the
// walk with an error.
func VerifyStep(log story.Log, step func(traveler.Seq) error) (Report, error) {
	return verifyOn(1, log, step)
}

// verifyOn does so on several cores: one is for those who are at work meanwhile, more for
// who waits for the server to come back.
func verifyOn(cores int, log story.Log, step func(traveler.Seq) error) (Report, error) {
	end, hash := log.Head()
	r := Report{Epoch: log.Epoch()}
	in, ok := log.(raw)
	if !ok {
		return r, traveler.Fail(traveler.KindInternal, "store.verify.kind")
	}
	part := make([]linked, 0, verifyStep)
	flush := func() error {
		err := r.part(log, part, cores)
		part = part[:0]
		if err != nil {
			return err
		}
		return step(r.Head)
	}
	err := in.walk(1, func(l linked) (bool, error) {
		if l.seq > end {
			return false, nil
		}
		if part = append(part, l); len(part) < verifyStep {
			return true, nil
		}
		return true, flush()
	})
	if err == nil {
		err = flush()
	}
	if err != nil {
		return r, err
	}
	if end != r.Head || hash != r.Link {
		return r, bad("store.verify.head", end.String(), r.Head.String())
	}
	if r.named != "" && r.named != r.Epoch {
		return r, bad("store.verify.epoch", r.Epoch, r.named)
	}
	if err := r.ids(in, log, step); err != nil {
		return r, err
	}
	if err := in.checkKeys(func() error { return step(r.Head) }); err != nil {
		return r, err
	}
	return r, in.checkTables()
}

// ids finds an id that leads nowhere, or to another's entry: each entry's own was found
// already, so there is one where there are more ids than entries with one.
//
// An entry that came since is there as soon as its id is, before the log says that its end
// has moved, so ids beyond the end are held to the entries themselves.
func (r *Report) ids(in raw, log story.Log, step func(traveler.Seq) error) error {
	n, seen := 0, 0
	each := func(check func(traveler.ScanID, traveler.Seq) error) error {
		return in.eachID(func(id traveler.ScanID, seq traveler.Seq) (bool, error) {
			if seen++; seen%verifyStep == 0 {
				if err := step(r.Head); err != nil {
					return false, err
				}
			}
			return true, check(id, seq)
		})
	}
	leads := func(id traveler.ScanID, seq traveler.Seq) error {
		if es, err := log.Get([]traveler.Seq{seq}); err != nil || es[0].ID() != id {
			return bad("store.verify.extra", string(id), seq.String())
		}
		return nil
	}
	err := each(func(id traveler.ScanID, seq traveler.Seq) error {
		if seq > r.Head {
			return leads(id, seq)
		}
		n++
		return nil
	})
	if err != nil || n == r.IDs {
		return err
	}
	return each(leads)
}

// part checks the next rows of the record: their chain one after the other, what they say
// on so many cores.
func (r *Report) part(log story.Log, part []linked, cores int) error {
	var broken error
	for i := range part {
		if broken = r.link(part[i]); broken != nil {
			part = part[:i]
			break
		}
	}
	size := max(1, (len(part)+cores-1)/cores)
	said := make([]spoken, (len(part)+size-1)/size)
	var all sync.WaitGroup
	for i := range said {
		all.Go(func() { said[i].read(log, part[i*size:min(len(part), (i+1)*size)]) })
	}
	all.Wait()
	for i := range said {
		s := &said[i]
		r.IDs, r.Entries = r.IDs+s.ids, r.Entries+s.entries
		r.named = cmp.Or(s.epoch, r.named)
		if s.entries > 0 {
			r.Last = s.last
		}
		if s.err != nil {
			return s.err
		}
	}
	return broken
}

// link checks that a row is the next one, and as it was written.
func (r *Report) link(l linked) error {
	if l.seq != r.Head+1 {
		return bad("store.verify.gap", (r.Head + 1).String(), l.seq.String())
	}
	if link := sha256.Sum256(append(r.Link[:], l.body()...)); link != l.link() {
		return brokenAt(l)
	}
	r.Head, r.Link = l.seq, l.link()
	return nil
}

// spoken is what some rows of the record say.
type spoken struct {
	entries, ids int
	epoch        string // the newest that was named
	last         time.Time
	err          error
}

// read reads rows. That every entry's id leads to that entry, and that there are as many
// ids as entries with one, makes the index complete both ways.
func (s *spoken) read(log story.Log, part []linked) {
	for _, l := range part {
		e, err := decode(l.seq, l.body())
		if err != nil {
			s.err = bad("store.verify.entry", l.seq.String(), err.Error())
			return
		}
		if id := e.ID(); id != "" {
			if seq, err := log.Find(id); err != nil || seq != l.seq {
				s.err = bad("store.verify.id", l.seq.String(), string(id))
				return
			}
			s.ids++
		}
		s.epoch = cmp.Or(e.Epoch, s.epoch)
		s.entries, s.last = s.entries+1, e.Arrived
	}
}

// brokenAt says that an entry is not as it was written, and of which batch it is, as far
// as that can still be read.
func brokenAt(l linked) error {
	if e, err := decode(l.seq, l.body()); err == nil && e.Card != "" {
		return bad("store.verify.chain.batch", l.seq.String(), string(e.Card))
	}
	return bad("store.verify.chain", l.seq.String())
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
			return false, brokenAt(l)
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
