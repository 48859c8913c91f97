package desk

import (
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// recentLen is how many ids are at least held, once there were as many.
const recentLen = 4096

// recent holds the ids kept last. Who asks looks an id up in the log before the
// writer gets it, beside others who do the same; the writer then need only
// know what was kept since.
type recent struct {
	ids, older       map[traveler.ScanID]traveler.Seq
	after, olderFrom traveler.Seq // what was kept after these is in ids, or in both
	last             traveler.Seq
}

func recentFrom(seq traveler.Seq) recent {
	return recent{ids: map[traveler.ScanID]traveler.Seq{}, after: seq, olderFrom: seq, last: seq}
}

func (r *recent) add(id traveler.ScanID, seq traveler.Seq) {
	if len(r.ids) >= recentLen {
		r.older, r.olderFrom = r.ids, r.after
		r.ids, r.after = map[traveler.ScanID]traveler.Seq{}, r.last
	}
	r.ids[id], r.last = seq, seq
}

// find gives the sequence of an id that was kept after a sequence, 0 when it
// was not. ok is false when that is too long ago to know.
func (r *recent) find(id traveler.ScanID, after traveler.Seq) (seq traveler.Seq, ok bool) {
	if after < r.olderFrom {
		return 0, false
	}
	if seq = r.ids[id]; seq == 0 {
		seq = r.older[id]
	}
	return seq, true
}

// sighting is what the log said of an id, and how far it had come when it was
// asked.
type sighting struct {
	seq, at traveler.Seq
}

func look(log story.Log, id traveler.ScanID) (s sighting, err error) {
	s.at, _ = log.Head()
	s.seq, err = log.Find(id)
	return s, err
}
