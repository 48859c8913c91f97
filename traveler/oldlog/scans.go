package oldlog

import (
	"cmp"
	"crypto/sha256"
	"fmt"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Ranks order what happened in the same millisecond at one operation: the end of
// what went on, rows without time, the beginning of the next, and last what
// settles what they leave.
const (
	rankAdd = iota
	rankEnd
	rankZero
	rankBegin
	rankBack
	rankReckon
	rankSettle
)

// idOf makes a UUID of version 8 (RFC 9562) of a hash.
func idOf(h []byte) traveler.ScanID {
	h = slices.Clone(h[:16])
	h[6] = h[6]&0x0f | 0x80
	h[8] = h[8]&0x3f | 0x80
	return traveler.ScanID(fmt.Sprintf("%x-%x-%x-%x-%x", h[0:4], h[4:6], h[6:8], h[8:10], h[10:16]))
}

// scanID makes an id of what is said. Ties of time keep the order of
// ids, so it begins with time, rank and row, and then the step of the row.
func scanID(at time.Time, rank int, said string, step byte) traveler.ScanID {
	sum := sha256.Sum256([]byte(said))
	h := make([]byte, 16)
	ms := uint64(at.UnixMilli())
	for i := range 6 {
		h[i] = byte(ms >> (40 - 8*i))
	}
	h[6], h[7], h[8], h[9] = byte(rank), sum[0], sum[1], step
	copy(h[10:], sum[2:])
	return idOf(h)
}

func yes[T any](v T) *T { return &v }

// scan begins what all scans of a log have in common.
func (pl *place) scan(at time.Time, machine string, act traveler.Action) traveler.Scan {
	return traveler.Scan{
		At: at, Happened: yes(at), Present: yes(false), Station: machine, Card: string(pl.card), Action: act,
		Reason: traveler.FromLog, Anyway: true,
	}
}

// scans are those of the rows of a batch, in the order they happened.
func (pl *place) scans(j *job) []traveler.Scan {
	var out []traveler.Scan
	for _, op := range pl.added {
		i := slices.IndexFunc(j.rows, func(r Row) bool { return r.Operation == op })
		s := pl.scan(j.rows[i].Start, traveler.Office, traveler.ActOverride)
		s.ID = scanID(s.At, rankAdd, j.batch+"\x00"+op, 0)
		s.For, s.Operation, s.To, s.Note = story.OverrideAdd, pl.numbers[op], j.rows[i].Machine, op
		out = append(out, s)
	}
	for i := range j.rows {
		out = append(out, pl.row(&j.rows[i])...)
	}
	slices.SortStableFunc(out, func(a, b traveler.Scan) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Operation, b.Operation), cmp.Compare(a.ID, b.ID))
	})
	return out
}

func (r *Row) ranks() (first, last int) {
	if !r.End.After(r.Start) {
		return rankZero, rankZero
	}
	return rankBegin, rankEnd
}

// begins is the id of the scan with which its visit begins.
func (r *Row) begins() traveler.ScanID {
	first, _ := r.ranks()
	return scanID(r.Start, first, r.key, 0)
}

// row is the beginning and the end of a stay; of a stop, that it stood in
// between.
func (pl *place) row(r *Row) []traveler.Scan {
	first, last := r.ranks()
	act := traveler.ActRun
	if r.Kind == Setup {
		act = traveler.ActSetup
	}
	out := []traveler.Scan{pl.scan(r.Start, r.Machine, act)}
	if r.Kind == Stop {
		stop := pl.scan(r.Start, r.Machine, traveler.ActStop)
		stop.Reason = cmp.Or(r.Reason, traveler.FromLog)
		out = append(out, stop)
	}
	end := pl.scan(r.End, r.Machine, traveler.ActFinish)
	if r.counted() > 0 {
		if r.Kind == Setup {
			end.Phase = "setup"
		}
		end.Good = yes(r.Good)
		end.Scrap, end.Rework, end.Review = r.lost(r.Scrap), r.lost(r.Rework), r.lost(r.Review)
	}
	out = append(out, end)
	for i := range out {
		s, rank := &out[i], first
		if i == len(out)-1 {
			rank = last
		}
		s.ID = scanID(s.At, rank, r.key, byte(i))
		s.Operator, s.Operation = traveler.PersonID(r.Person), pl.numbers[r.Operation]
		if i > 0 {
			s.Visit = out[0].ID
		}
	}
	return out
}

func (r *Row) lost(n int) []traveler.Loss {
	if n == 0 {
		return nil
	}
	return []traveler.Loss{{Reason: cmp.Or(r.Reason, traveler.FromLog), N: n}}
}
