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
		s.record = []*traveler.Entry{{Seq: 1, Arrived: p.Now, By: p.By, Rules: story.Rules, Release: &release, Card: pl.card, Outcome: traveler.Kept}}
	}
	for _, e := range s.record {
		s.known[e.ID()] = true
	}
	s.say(pl.scans(j)...)
	p.Report.Attached += len(pl.added)
	s.tell()
	s.settle()
	s.finish()
	s.count()
	p.Batches = append(p.Batches, Batch{Release: pl.release, Card: pl.card, Known: pl.family != nil, Scans: s.out})
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
		e := &traveler.Entry{Seq: s.record[len(s.record)-1].Seq + 1, Arrived: s.p.Now, By: s.p.By, Scan: x, Card: s.pl.card, Outcome: traveler.Kept}
		e.Machine, _ = s.p.shop.FindMachine(x.Station)
		s.record = append(s.record, e)
		s.out = append(s.out, *x)
		fresh++
	}
	return fresh
}

func (s *course) tell() { s.f = story.Fold(s.p.shop, s.record) }

// rounds bounds how often questions may raise others.
const rounds = 20

// settle answers what is asked until nothing is.
func (s *course) settle() {
	for range rounds {
		n := 0
		for _, q := range s.f.Questions() {
			if q.Settled == nil {
				n += s.answer(&q, s.choice(&q))
			}
		}
		if n == 0 {
			return
		}
		s.tell()
	}
}

// choice is the answer to a question: it was so, for the log says so. What was
// never counted at the last operation of a batch that is over is missing.
func (s *course) choice(q *story.Question) string {
	switch q.Kind {
	case story.QuestionScan:
		return story.ChoiceAdd
	case story.QuestionClosed:
		return story.ChoiceWorked
	case story.QuestionUncounted:
		if s.over && s.atEnd(q.Operation) {
			return story.ChoiceMissing
		}
	}
	return story.ChoiceSeen
}

func (s *course) atEnd(op traveler.Op) bool {
	ops := s.f.Batches[0].Ops
	return op == ops[len(ops)-1].Number
}

// answer says the answer to a question, at the end of the batch's story.
func (s *course) answer(q *story.Question, choice string) int {
	d := s.pl.scan(s.j.end(), traveler.Office, traveler.ActDecide)
	d.ID = scanID(d.At, rankSettle, s.j.batch+"\x00"+q.ID+"\x00"+choice, 0)
	d.For, d.Reason, d.Anyway, d.Note = q.ID, choice, false, traveler.FromLog
	n := s.say(d)
	if n == 0 {
		return 0
	}
	s.p.Report.Settled[string(q.Kind)+" "+choice]++
	if choice == story.ChoiceMissing {
		s.p.Report.Missing += q.Pieces
	}
	return n
}

// finish lets a batch that is over be done: pieces in review that nobody decided
// about, in rework that never came back, and never counted at the end are
// missing. They are neither good nor scrap, so that yields stay what they were.
func (s *course) finish() {
	if !s.over {
		return
	}
	for range rounds {
		if s.f.State(0) == story.StateDone {
			return
		}
		n := s.back()
		for _, q := range s.f.Questions() {
			if q.Kind == story.QuestionUncounted && s.atEnd(q.Operation) {
				n += s.answer(&q, story.ChoiceMissing)
			}
		}
		if n == 0 {
			return
		}
		s.tell()
		s.settle()
	}
}

// back takes pieces out of review and rework.
func (s *course) back() (n int) {
	for _, t := range s.f.Tallies(0) {
		if t.ReviewOpen > 0 {
			d := s.pl.scan(s.j.end(), traveler.Office, traveler.ActDecide)
			d.ID = scanID(d.At, rankBack, s.j.batch+" review "+t.Operation.String(), 0)
			d.Operation, d.Missing, d.Anyway = t.Operation, yes(t.ReviewOpen), false
			s.p.Report.Missing += s.say(d) * t.ReviewOpen
			n++
		}
		if t.ReworkOpen > 0 {
			d := s.pl.scan(s.j.end(), s.machineOf(t.Operation), traveler.ActFinish)
			d.ID = scanID(d.At, rankBack, s.j.batch+" rework "+t.Operation.String(), 0)
			d.Operation, d.For, d.Missing = t.Operation, t.Operation.String(), yes(t.ReworkOpen)
			s.p.Report.Missing += s.say(d) * t.ReworkOpen
			n++
		}
	}
	return n
}

func (s *course) machineOf(op traveler.Op) string {
	for i := range s.f.Visits {
		if v := &s.f.Visits[i]; v.Operation == op {
			return string(v.Machine)
		}
	}
	return s.j.rows[0].Machine
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
	switch missing := s.missing(); {
	case s.f.State(0) != story.StateDone && s.over:
		r.NeverEnded = append(r.NeverEnded, s.j.batch)
		r.Open++
	case s.f.State(0) != story.StateDone:
		r.Open++
	case missing:
		r.Over++
	default:
		r.Done++
	}
}

// missing tells whether pieces had to be taken for missing to end the batch.
func (s *course) missing() bool {
	for _, t := range s.f.Tallies(0) {
		if t.Missing > 0 {
			return true
		}
	}
	return false
}
