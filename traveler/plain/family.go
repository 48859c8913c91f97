package plain

import "tallywalk/traveler"

// splitOff begins the paper of a batch that was split off another: with so many
// pieces, when and where that was. Where the other one had as many good pieces
// at the end of the route, they are those.
func (p *pencil) splitOff() {
	for _, e := range p.record {
		s := e.Scan
		if s == nil || s.Action != traveler.ActSplit || e.Other != p.f.Card || e.Card == p.f.Card ||
			e.Outcome == traveler.Refused {
			continue
		}
		from := write(p.shop, p.record, e.Card, s.ID)
		if from.f.Tangled != "" {
			p.tangle("%s", from.f.Tangled)
		}
		p.pieces, p.released, p.place, p.ops = s.Pieces, whenOf(e), from.place, from.ops
		p.f.Due, p.f.Want = from.f.Due, min(s.Pieces, from.f.Want)
		if from.ready() >= s.Pieces {
			p.put(s.Pieces)
		}
		return
	}
}

// split lets pieces go: from the end of the route, if as many lie there; else
// the operations after it count fewer by themselves.
func (p *pencil) split(s *traveler.Scan) {
	if p.ready() >= s.Pieces {
		p.put(-s.Pieces)
	}
	p.f.Want -= min(s.Pieces, p.f.Want)
}

// join takes the pieces of another batch in: those that lie at the end of its
// route; what it brings before that, later operations count.
func (p *pencil) join(e *traveler.Entry) {
	from := write(p.shop, p.record, e.Other, e.Scan.ID)
	if from.f.Tangled != "" {
		p.tangle("%s", from.f.Tangled)
	}
	p.put(from.ready())
	p.f.Want += from.f.Want
	p.joined = true
}

// ready is the good pieces at the end of the route that have not left.
func (p *pencil) ready() int {
	n := p.goodAt(p.lastOp())
	for _, s := range p.f.Sent {
		n -= s.Pieces
	}
	return n
}

// put lays good pieces at the end of the route, or takes them away.
func (p *pencil) put(n int) {
	p.decided = append(p.decided, verdict{op: p.lastOp(), good: n, conceded: true})
}
