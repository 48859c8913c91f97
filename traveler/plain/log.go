package plain

import (
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// logRow is a row of an old log, as its scans have it: from when to when, what
// for, and what was counted.
type logRow struct {
	op         traveler.Op
	machine    traveler.MachineID
	kind       traveler.Action
	from, to   time.Time
	good, rest int // rest: scrap, set aside and sent to rework
}

// fromLog works the figures of a batch of an old log out: every row is a line of
// its own, whatever it overlaps.
func fromLog(shop *traveler.Shop, record []*traveler.Entry) Figures {
	p := pencil{shop: shop}
	rows := map[traveler.ScanID]*logRow{}
	var order []*logRow
	good := map[traveler.Op]int{}
	reckoned := map[traveler.Op]bool{}
	for _, e := range record {
		if e.Release != nil {
			p.release(e)
		}
		s := e.Scan
		if s == nil || e.Outcome == traveler.Refused {
			continue
		}
		if !e.FromLog() && s.Action != traveler.ActStop && s.Action != traveler.ActDecide &&
			s.Action != traveler.ActUndo || e.By.Name != traveler.Importer {
			p.tangle("it went on after the log")
		}
		switch s.Action {
		case traveler.ActRun, traveler.ActSetup:
			r := &logRow{op: s.Operation, machine: e.Machine, kind: s.Action, from: *s.Happened}
			rows[s.ID] = r
			order = append(order, r)
		case traveler.ActStop:
			if r := rows[s.Visit]; r != nil {
				r.kind = traveler.ActStop
			}
		case traveler.ActFinish:
			if r := rows[s.Visit]; r != nil {
				r.to, r.good = *s.Happened, number(s.Good)
				r.rest = losses(s.Scrap) + losses(s.Rework) + losses(s.Review)
				p.f.Scrap += losses(s.Scrap)
			}
		case traveler.ActDecide:
			switch {
			case s.For == story.ForLog:
				good[s.Operation], reckoned[s.Operation] = number(s.Good), true
			case s.For == "":
				p.decided = append(p.decided,
					verdict{s.Operation, number(s.Good), losses(s.Scrap), number(s.Missing), false})
			}
		case traveler.ActOverride:
			if s.For == story.OverridePieces {
				p.pieces = s.Pieces
			}
		}
	}
	p.rows(order, good, reckoned)
	return p.f
}

// rows adds the rows up.
func (p *pencil) rows(order []*logRow, good map[traveler.Op]int, reckoned map[traveler.Op]bool) {
	slices.SortStableFunc(order, func(a, b *logRow) int { return a.from.Compare(b.from) })
	f := &p.f
	f.Steps = map[traveler.Op]Step{}
	var end time.Time
	last := traveler.Op(0)
	for _, r := range order {
		if r.to.IsZero() {
			p.tangle("a row has no end")
			return
		}
		if r.to.After(end) {
			end = r.to
		}
		p.carry(r.machine)
		p.noted = append(p.noted, span{r.kind, r.from, r.to})
		d := r.to.Sub(r.from)
		switch r.kind {
		case traveler.ActRun:
			f.Run += d
		case traveler.ActSetup:
			f.SetUp += d
		default:
			f.Stop += d
		}
		s := f.Steps[r.op]
		f.Steps[r.op] = Step{s.Presented + r.good + r.rest, s.Good + r.good}
		last = max(last, r.op)
	}
	for _, d := range p.decided {
		s := f.Steps[d.op]
		f.Steps[d.op] = Step{s.Presented - d.missing, s.Good + d.good}
	}
	f.Good = p.cameThrough(last, good, reckoned)
	f.Ended = !end.IsZero()
	f.Lead = end.Sub(p.released)
	f.Rest = f.Lead - p.covered(p.released, end)
}

// cameThrough is the good pieces after the last operation that was done. What no
// row counts there was let through as it came from the one before.
func (p *pencil) cameThrough(last traveler.Op, good map[traveler.Op]int, reckoned map[traveler.Op]bool) int {
	ops := make([]traveler.Op, 0, len(p.f.Steps))
	for op := range p.f.Steps {
		ops = append(ops, op)
	}
	slices.Sort(ops)
	n := p.pieces
	for _, op := range ops {
		s := p.f.Steps[op]
		switch {
		case op > last:
		case reckoned[op]:
			n = good[op]
		case s.Presented > 0:
			n = s.Good
		}
	}
	return n
}
