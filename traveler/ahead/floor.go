package ahead

import (
	"cmp"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/story"
)

// floor is what is on the floor at a moment: the work that is left of every open
// batch, and what the machines are at.
type floor struct {
	now  time.Time
	shop *traveler.Shop
	zone *time.Location
	jobs []job
}

// stage is where a batch stands.
type stage int

const (
	waiting  stage = iota // for its next operation
	atWork                // at a machine
	away                  // outside
	finished              // all operations done; not delivered
)

// job is a batch on the floor.
type job struct {
	card                 traveler.Code
	order, line          string
	part, name, customer string
	rev                  string
	hot                  bool
	prio                 int
	due                  time.Time // the end of the due day; zero = none
	state                story.BatchState
	released             time.Time
	held                 bool
	todo                 []todo
	stage                stage
	since                time.Time // waiting, at work, away or finished since then
	machine              traveler.MachineID
	settled              bool    // it is set up: its run goes on
	spentSetup, spentRun float64 // seconds at the machine so far
	placed               bool    // it lies before the machine already
	passedOver           time.Time
	isNew                bool
	from                 time.Time // of a new one: when it comes to the floor
	key                  uint64    // for its draws
}

// todo is an operation that is left of a batch.
type todo struct {
	op      traveler.Op
	wc      traveler.WorkCentre
	first   bool
	outside bool
	days    float64 // planned outside
	pieces  int
	setup   float64 // seconds, planned, left
	run     float64 // seconds, planned, left
	index   int     // of the operation along the route, for its draws
}

// floorOf reads the floor as of a moment from families that are on it.
func floorOf(shop *traveler.Shop, zone *time.Location, families []*story.Family, now time.Time) *floor {
	fl := &floor{now: now, shop: shop, zone: zone}
	for _, f := range families {
		for i := range f.Batches {
			st := f.State(i)
			if st == story.StateDone || st == story.StateCancelled || f.Batches[i].Joined != "" {
				continue
			}
			fl.jobs = append(fl.jobs, fl.jobOf(f, i, st))
		}
	}
	fl.passOver(families)
	return fl
}

func (fl *floor) jobOf(f *story.Family, batch int, st story.BatchState) job {
	b := &f.Batches[batch]
	j := job{
		card: b.Card, order: b.Order, line: b.Line, part: b.Part, name: b.Name, customer: b.Customer,
		rev: b.Rev,
		hot: b.Hot, prio: b.Priority, state: st, released: b.Released, held: b.Held,
		key: keyOf(string(b.Card)),
	}
	if !b.Due.IsZero() {
		j.due = calendar.EndOfDay(b.Due, fl.zone)
	}
	ts := f.Tallies(batch)
	next := f.NextOp(batch)
	for k := range ts {
		o, t := &b.Ops[k], &ts[k]
		n := t.Left() + t.ReworkOpen
		if next == 0 || o.Number < next || o.Number < b.First || n == 0 {
			continue
		}
		x := todoOf(o, n, k)
		if t.Seen && k > 0 || t.Seen && t.Counted > 0 {
			x.first = false
		}
		j.todo = append(j.todo, x)
	}
	fl.stand(f, batch, &j)
	return j
}

func todoOf(o *traveler.Operation, pieces, index int) todo {
	return todo{
		op: o.Number, wc: o.WorkCentre, first: index == 0, outside: o.Outside(), days: o.OutsideDays,
		pieces: pieces,
		setup:  o.SetupMin * 60, run: float64(pieces) * o.MinPerPiece() * 60, index: index,
	}
}

// stand finds out where a batch stands: at work at its first operation that is
// left, outside, waiting since what was before, or finished.
func (fl *floor) stand(f *story.Family, batch int, j *job) {
	j.since = j.released
	for i := range f.Visits {
		v := &f.Visits[i]
		if v.Batch != batch {
			continue
		}
		if e := v.Ended(); e.After(j.since) {
			j.since = e
		}
		if v.Open() && v.State == story.VisitWaiting && len(j.todo) > 0 && v.Operation == j.todo[0].op {
			j.machine, j.placed = v.Machine, true
		}
		if !v.Open() || v.State == story.VisitWaiting || v.ReworkFor != 0 || j.stage != waiting {
			continue
		}
		// Of several that go on at once, the first along the route leads.
		k := slices.IndexFunc(j.todo, func(x todo) bool { return x.op == v.Operation })
		if k < 0 {
			continue
		}
		j.todo = j.todo[k:]
		fl.atWork(f, i, j)
	}
	if len(j.todo) == 0 {
		j.stage = finished
	}
}

// atWork takes what a visit has spent so far.
func (fl *floor) atWork(f *story.Family, visit int, j *job) {
	v := &f.Visits[visit]
	j.stage, j.machine, j.since = atWork, v.Machine, v.Arrived
	if v.State == story.VisitOutside {
		j.stage = away
	}
	h := fl.shop.Hours(v.Machine, fl.now)
	begun := false
	for _, s := range f.SpansOf(visit) {
		if !begun {
			j.since, begun = s.From, true
		}
		to := s.To
		if to.IsZero() || to.After(fl.now) {
			to = fl.now
		}
		d := h.Open(s.From, to).Seconds()
		switch s.Kind {
		case story.SpanSetup, story.SpanFirstOff:
			j.spentSetup += d
		case story.SpanRun:
			if fl.shop.Unattended(v.Machine, fl.now) {
				d = max(0, to.Sub(s.From).Seconds())
			}
			j.spentRun += d
			j.settled = true
		case story.SpanStop:
			j.spentRun += d
		}
	}
	// What was counted already is work that is done: the plan of what is left is
	// set against the time since, which is the share of what is left.
	x := &j.todo[0]
	if all := x.pieces + v.Good + v.Scrap + v.Rework + v.Review + v.Missing; x.pieces < all {
		x.run *= float64(all) / float64(x.pieces)
	}
}

// passOver finds, of each batch that waits, when another one was last begun on in
// its work centre that it goes before: until then it can't have been ready.
func (fl *floor) passOver(families []*story.Family) {
	type begun struct {
		at  time.Time
		key float64
	}
	by := map[traveler.WorkCentre][]begun{}
	for _, f := range families {
		for i := range f.Visits {
			v := &f.Visits[i]
			m, ok := fl.shop.Machine(v.Machine, fl.now)
			spans := f.SpansOf(i)
			if !ok || len(spans) == 0 || v.ReworkFor != 0 {
				continue
			}
			b := &f.Batches[v.Batch]
			due := time.Time{}
			if !b.Due.IsZero() {
				due = calendar.EndOfDay(b.Due, fl.zone)
			}
			by[m.WorkCentre] = append(by[m.WorkCentre],
				begun{spans[0].From, rank(b.Hot, b.Priority, due, fl.now)})
		}
	}
	for i := range fl.jobs {
		j := &fl.jobs[i]
		if j.stage != waiting || len(j.todo) == 0 {
			continue
		}
		key := rank(j.hot, j.prio, j.due, fl.now)
		for _, b := range by[j.todo[0].wc] {
			if b.at.After(j.since) && b.at.After(j.passedOver) && b.key > key {
				j.passedOver = b.at
			}
		}
	}
}

// noDue is the due moment, in seconds from now, of what has none.
const noDue = 1e10

// rank is the order of the boards (board.Rule): hot ones first, then by due date, then by
// priority. Lower goes first.
func rank(hot bool, prio int, due, now time.Time) float64 {
	k := noDue
	if !due.IsZero() {
		k = due.Sub(now).Seconds()
	}
	return k - hotBy(hot, prio)
}

// hotBy is by how many seconds a batch goes before its due date: a hot one before all that
// are not, one of a higher priority only before others of its day.
func hotBy(hot bool, prio int) float64 {
	// A day has 86,400 s; a record may hold higher priorities, from before they were limited.
	by := float64(min(max(prio, -traveler.MaxPriority), traveler.MaxPriority)) * 40
	if hot {
		by += hotRank
	}
	return by
}

// hotRank is more than any due date, in seconds.
const hotRank = 1e11

// places numbers the batches that wait for each work centre, in the shop's order.
func (fl *floor) places() map[traveler.Code]int {
	by := map[traveler.WorkCentre][]*job{}
	for i := range fl.jobs {
		if j := &fl.jobs[i]; j.stage == waiting && !j.held && len(j.todo) > 0 && !j.isNew {
			by[j.todo[0].wc] = append(by[j.todo[0].wc], j)
		}
	}
	out := map[traveler.Code]int{}
	for _, line := range by {
		slices.SortFunc(line, func(a, b *job) int {
			return cmp.Or(cmp.Compare(rank(a.hot, a.prio, a.due, fl.now), rank(b.hot, b.prio, b.due, fl.now)),
				a.since.Compare(b.since), cmp.Compare(a.card, b.card))
		})
		for i, j := range line {
			out[j.card] = i + 1
		}
	}
	return out
}
