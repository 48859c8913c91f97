package oldlog

import (
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// course is a batch's story while it is planned.
type course struct {
	p      *planner
	pl     *place
	j      *job
	record []*traveler.Entry
	known  map[traveler.ScanID]bool
	f      *story.Family
	order  []*story.Visit // of f, by when they came
	out    []traveler.Scan
	over   bool
}

// batch plans one batch: its scans, and what settles the questions they raise.
func (p *planner) batch(j *job, pl *place) {
	s := &course{p: p, pl: pl, j: j, known: map[traveler.ScanID]bool{}}
	s.over = p.Report.To.Sub(j.end()) >= p.OverAfter
	if pl.family != nil {
		s.record = slices.Clone(pl.family.Record())
	} else {
		release := pl.release
		s.record = []*traveler.Entry{
			{Seq: 1, Arrived: p.Now, By: p.By, Rules: story.Rules, Release: &release, Card: pl.card,
				Outcome: traveler.Kept}}
	}
	for _, e := range s.record {
		s.known[e.ID()] = true
	}
	s.lose()
	s.say(pl.scans(j)...)
	p.Report.Attached += len(pl.added)
	s.refold()
	s.started()
	s.settle(story.QuestionScan, story.QuestionClosed)
	s.skip()
	s.reckon()
	s.settle()
	s.count()
	p.Batches = append(p.Batches,
		Batch{Release: pl.release, Card: pl.card, Known: pl.family != nil, Scans: s.out})
}

// lose lets no more pieces be scrap than the batch has, those that are there
// already counted first.
func (s *course) lose() {
	left := s.j.pieces
	if s.pl.family != nil {
		for i := range s.pl.family.Visits {
			left -= s.pl.family.Visits[i].Scrap
		}
	}
	for i := range s.j.rows {
		r := &s.j.rows[i]
		if s.known[r.begins()] {
			continue
		}
		if r.Scrap > max(0, left) {
			s.p.Report.Odd.Add(TooLost, r.Line)
			r.Scrap = max(0, left)
		}
		left -= r.Scrap
	}
}

// say adds scans that were not said before.
func (s *course) say(scans ...traveler.Scan) (fresh int) {
	for i := range scans {
		x := &scans[i]
		if s.known[x.ID] {
			s.p.Report.Again++
			continue
		}
		s.known[x.ID] = true
		e := &traveler.Entry{Seq: s.record[len(s.record)-1].Seq + 1, Arrived: s.p.Now, By: s.p.By, Scan: x,
			Card: s.pl.card, Outcome: traveler.Kept}
		e.Machine, _ = s.p.shop.FindMachine(x.Station)
		s.record = append(s.record, e)
		s.out = append(s.out, *x)
		fresh++
	}
	return fresh
}

func (s *course) refold() {
	s.f = story.Fold(s.p.shop, s.record)
	s.order = inOrder(s.f)
}

// rounds bounds how often questions may raise others.
const rounds = 20

// settle answers what is asked until nothing is: what was done was so, for the
// log says so. only leaves the questions of some kinds; none leaves all.
func (s *course) settle(only ...story.QuestionKind) {
	for range rounds {
		n := 0
		for _, q := range s.f.Questions() {
			if q.Settled == nil && (len(only) == 0 || slices.Contains(only, q.Kind)) {
				n += s.answer(&q)
			}
		}
		if n == 0 {
			return
		}
		s.refold()
	}
}

// answer says the answer to a question, at the end of the batch's story.
func (s *course) answer(q *story.Question) int {
	choice := story.ChoiceSeen
	switch q.Kind {
	case story.QuestionScan:
		choice = story.ChoiceAdd
	case story.QuestionClosed:
		choice = story.ChoiceWorked
	}
	d := s.pl.scan(s.j.end(), traveler.Office, traveler.ActDecide)
	d.ID = scanID(d.At, rankSettle, s.j.batch+"\x00"+q.ID+"\x00"+choice, 0)
	d.For, d.Reason, d.Anyway, d.Note = q.ID, choice, false, traveler.FromLog
	n := s.say(d)
	s.p.Report.Settled[string(q.Kind)+" "+choice] += n
	return n
}

// skip says of operations of the route that the batch passed over that they were
// not needed; those that may still come stay, while it goes on.
func (s *course) skip() {
	b := &s.f.Batches[0]
	last := traveler.Op(0)
	done := map[traveler.Op]bool{}
	for _, v := range s.order {
		done[v.Operation] = true
		last = max(last, v.Operation)
	}
	n := 0
	for i := range b.Ops {
		op := b.Ops[i].Number
		over := !done[op] && (op < last || s.over)
		if over != slices.Contains(b.Skipped, op) && !done[op] {
			n += s.skipped(op, over)
		}
	}
	if n > 0 {
		s.refold()
	}
}

// skipped says that an operation was passed over, or takes that back: a batch
// that seemed to be over has gone on.
func (s *course) skipped(op traveler.Op, over bool) int {
	times, last := 0, traveler.ScanID("")
	for _, e := range s.record {
		if e.Scan != nil && e.Scan.For == story.OverrideSkip && e.Scan.Operation == op {
			times, last = times+1, e.Scan.ID
		}
	}
	d := s.pl.scan(s.j.end(), traveler.Office, traveler.ActOverride)
	d.For, d.Operation = story.OverrideSkip, op
	if !over {
		d.Action, d.For, d.Operation = traveler.ActUndo, string(last), 0
	}
	step := byte(2 * times)
	if over {
		step++
	}
	d.ID = scanID(d.At, rankAdd, s.j.batch+"\x00skip "+op.String(), step)
	return s.say(d)
}

// started says how many pieces there were, where a longer log has another
// number than the batch was released with.
func (s *course) started() {
	times := 0
	for _, e := range s.record {
		if e.Scan != nil && e.Scan.For == story.OverridePieces {
			times++
		}
	}
	if s.f.Batches[0].Started == s.j.pieces {
		return
	}
	d := s.pl.scan(s.j.end(), traveler.Office, traveler.ActOverride)
	d.ID = scanID(d.At, rankAdd, s.j.batch+"\x00pieces", byte(times))
	d.For, d.Pieces = story.OverridePieces, s.j.pieces
	if s.say(d) > 0 {
		s.refold()
	}
}

// count notes how the batch ended.
func (s *course) count() {
	r := &s.p.Report
	r.Scans += len(s.out)
	for _, l := range s.f.Lines.All() {
		if key := l.Anyway.Key; key != "" {
			r.Anyway[key]++
		}
	}
	missing := s.f.Sum(0).Missing
	if s.over {
		r.Missing += missing
	}
	switch {
	case s.f.State(0) != story.StateDone && s.over:
		r.NeverEnded = append(r.NeverEnded, s.j.batch)
		r.Open++
	case s.f.State(0) != story.StateDone:
		r.Open++
	case missing > 0:
		r.Over++
	default:
		r.Done++
	}
}
