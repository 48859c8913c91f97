package board

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/story"
)

// Order says which of two rows that wait comes first, as cmp.Compare does. Two rows
// are never equal: their keys differ.
type Order func(a, b *Row) int

// ByDue is the order of Rule; of those that are hot, and of the others, rows without a
// due date come last. What lacks something cannot be begun: it comes after all that.
func ByDue(a, b *Row) int {
	if lacks := a.NotReady != ""; lacks != (b.NotReady != "") {
		if lacks {
			return 1
		}
		return -1
	}
	if a.Hot != b.Hot {
		if a.Hot {
			return -1
		}
		return 1
	}
	if (a.Due == "") != (b.Due == "") {
		if a.Due == "" {
			return 1
		}
		return -1
	}
	return cmp.Or(
		strings.Compare(a.Due, b.Due), cmp.Compare(b.Priority, a.Priority), a.Since.Compare(b.Since),
		strings.Compare(a.Key, b.Key),
	)
}

// LineShown is how many places of a line are said; who is further back is so anyway.
const LineShown = 20

// WaitLine is what stands before a work centre in the shop's order, and what its machines
// are at. All of it is moments, so that it stays true while no scan comes.
type WaitLine struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Order      []string            `json:"order"` // keys of rows, the first one first; at most LineShown
	Waits      int                 `json:"waits"` // how many stand in line
	Machines   []AtMachine         `json:"machines"`
}

// AtMachine is what a machine is at, and until when that lasts, as far as one can
// expect.
type AtMachine struct {
	Machine    traveler.MachineID `json:"machine"`
	State      string             `json:"state"` // free, or the state of the visit that says most
	Card       traveler.Code      `json:"card,omitempty"`
	WorksOrder string             `json:"works_order,omitempty"`
	Reason     string             `json:"reason,omitempty"`   // of a stop
	SetUntil   time.Time          `json:"set_until,omitzero"` // the set-up is expected to last until then
	Until      time.Time          `json:"until,omitzero"`     // the work is expected to last until then
	Closes     time.Time          `json:"closes,omitzero"`    // when its working time ends; zero = it has, or never does
	Opens      time.Time          `json:"opens,omitzero"`     // when its working time begins after that
	Shut       bool               `json:"shut,omitempty"`     // closed, and nobody can say until when
	Outside    bool               `json:"outside,omitempty"`  // batches are sent out here: it takes any number
}

// closedAt reports whether the working time of a machine is over at a moment.
func (m *AtMachine) closedAt(t time.Time) bool {
	return m.Shut || !m.Opens.IsZero() && t.Before(m.Opens) && !t.Before(m.Closes)
}

// Lines keeps the lines of all work centres, while families come, change and go: only
// those where something changed are worked out. It is used by one goroutine.
type Lines struct {
	shop   *traveler.Shop
	order  Order
	pace   *Pace
	queues map[traveler.WorkCentre]*queue
	of     map[traveler.Code][]Row
	runs   map[opKey]map[*work]*queue // what goes on, by what it is paced by
	dirty  map[*queue]bool
}

// queue is what waits before a work centre, in order, and what is worked on there.
type queue struct {
	centre traveler.WorkCentre
	waits  []*Row
	works  map[traveler.MachineID]map[string]*work
}

// work is a visit that goes on: its row, where it stands against its plan, and until when
// it is expected to last, once that was worked out.
type work struct {
	row        *Row
	now        *Now // nil where it has no plan to stand against
	known      bool
	set, until time.Time
}

// NewLines gives the lines of the shop's work centres with nothing in them. Rows stand
// in the order given; how long work takes is known from pace.
func NewLines(shop *traveler.Shop, order Order, pace *Pace, now time.Time) *Lines {
	l := &Lines{
		shop: shop, order: order, pace: pace, queues: map[traveler.WorkCentre]*queue{},
		of: map[traveler.Code][]Row{}, runs: map[opKey]map[*work]*queue{}, dirty: map[*queue]bool{},
	}
	for _, m := range shop.Machines(now) {
		l.queue(m.WorkCentre)
	}
	return l
}

func (l *Lines) queue(wc traveler.WorkCentre) *queue {
	q := l.queues[wc]
	if q == nil {
		q = &queue{centre: wc, works: map[traveler.MachineID]map[string]*work{}}
		l.queues[wc] = q
	}
	l.dirty[q] = true
	return q
}

// Put takes the rows of a family, and the visits that go on, in place of those it had
// of it. The rows stay as they are.
func (l *Lines) Put(root traveler.Code, rows []Row, nows []Now) {
	was := l.of[root]
	for i := range was {
		l.take(&was[i], -1, nil)
	}
	for i := range rows {
		l.take(&rows[i], 1, nows)
	}
	if l.of[root] = rows; len(rows) == 0 {
		delete(l.of, root)
	}
}

// take lets a row come (1) or go (-1).
func (l *Lines) take(r *Row, n int, nows []Now) {
	if r.Kind == "work" {
		l.takeWork(r, n, nows)
		return
	}
	if !r.inLine() {
		return
	}
	q := l.queue(r.WorkCentre)
	i, there := slices.BinarySearchFunc(q.waits, r, func(a, b *Row) int { return l.order(a, b) })
	switch {
	case n > 0:
		q.waits = slices.Insert(q.waits, i, r)
	case there:
		q.waits = slices.Delete(q.waits, i, i+1)
	}
}

func (l *Lines) takeWork(r *Row, n int, nows []Now) {
	q := l.queue(r.WorkCentre)
	if n < 0 {
		if w := q.works[r.Machine][r.Key]; w != nil && w.now != nil {
			delete(l.runs[opOf(w.now)], w)
		}
		delete(q.works[r.Machine], r.Key)
		return
	}
	w := &work{row: r}
	for i := range nows {
		if nows[i].Key == r.Key {
			w.now = &nows[i]
		}
	}
	if q.works[r.Machine] == nil {
		q.works[r.Machine] = map[string]*work{}
	}
	q.works[r.Machine][r.Key] = w
	if w.now == nil {
		return
	}
	k := opOf(w.now)
	if l.runs[k] == nil {
		l.runs[k] = map[*work]*queue{}
	}
	l.runs[k][w] = q
}

func opOf(n *Now) opKey { return opKey{n.Part, n.RouteRev, n.Operation} }

// inLine reports whether a row waits for its turn, and not for a person's word.
func (r *Row) inLine() bool {
	return r.Kind == "wait" && r.State != "held" && r.State != string(story.WaitReview)
}

// Paced says of which operations the pace changed: what runs there is expected to end
// at another time.
func (l *Lines) Paced(ops []OpPace) {
	for i := range ops {
		o := &ops[i]
		for w, q := range l.runs[opKey{o.Part, o.RouteRev, o.Operation}] {
			w.known, l.dirty[q] = false, true
		}
	}
}

// Changed gives the lines where something changed since the last time, by their work
// centres.
func (l *Lines) Changed(now time.Time) []WaitLine {
	out := make([]WaitLine, 0, len(l.dirty))
	for q := range l.dirty {
		out = append(out, l.line(q, now))
	}
	clear(l.dirty)
	slices.SortFunc(out, func(a, b WaitLine) int { return cmp.Compare(a.WorkCentre, b.WorkCentre) })
	return out
}

// All gives every line.
func (l *Lines) All(now time.Time) []WaitLine {
	for q := range maps.Values(l.queues) {
		l.dirty[q] = true
	}
	return l.Changed(now)
}

func (l *Lines) line(q *queue, now time.Time) WaitLine {
	out := WaitLine{WorkCentre: q.centre, Order: []string{}, Waits: len(q.waits), Machines: []AtMachine{}}
	for _, r := range q.waits[:min(len(q.waits), LineShown)] {
		out.Order = append(out.Order, r.Key)
	}
	l.shop.Working(q.centre, now, func(m *traveler.Machine) {
		out.Machines = append(out.Machines, l.atMachine(m, q, now))
	})
	return out
}

// atMachine is what a machine is at. Of several works the one that says most stands
// there, and the last of those that go on ends it.
func (l *Lines) atMachine(m *traveler.Machine, q *queue, now time.Time) AtMachine {
	out := AtMachine{Machine: m.ID, State: StateFree, Outside: m.Kind == "outside"}
	out.hours(l.shop.Hours(m.ID, now), now)
	var most *Row
	for _, w := range q.works[m.ID] {
		if w.row.Outside() {
			continue
		}
		if most == nil || saysMore(w.row, most) {
			most = w.row
		}
		if !w.known {
			w.set, w.until = l.expected(w.now)
			w.known = true
		}
		if w.until.After(out.Until) {
			out.SetUntil, out.Until = w.set, w.until
		}
	}
	if r := most; r != nil {
		out.State, out.Card, out.WorksOrder = r.State, r.Card, r.WorksOrder
		if r.State == string(story.VisitStopped) {
			out.Reason = r.Reason
		}
	}
	return out
}

// hours notes when the working time of a machine ends, and when it begins after that.
func (m *AtMachine) hours(h *calendar.Hours, now time.Time) {
	switch end, open := h.End(now); {
	case open:
		m.Closes = end
		m.Opens, _ = h.Next(end)
	case !h.IsOpen(now):
		next, known := h.Next(now)
		m.Opens, m.Shut = next, !known
	}
}

// expected is until when a visit is expected to be set up, and to last: by its plan, as
// this operation has kept to its plan so far, in the machine's working time.
func (l *Lines) expected(n *Now) (set, until time.Time) {
	if n == nil {
		return set, until
	}
	p := l.pace.of(n)
	setup, piece := n.PlanSetup, n.PlanPiece
	if p != nil {
		setup, piece = scaled(setup, p.PlanSetup, &p.Setup), scaled(piece, p.PlanPiece, &p.Piece)
	}
	run := time.Duration(piece * float64(n.Left) / float64(max(1, n.Together)) * float64(time.Second))
	switch n.State {
	case string(story.VisitRunning), string(story.VisitReady):
		if piece > 0 {
			until = ends(l.shop, n.Machine, n.At, run)
		}
	case string(story.VisitSetting):
		left := time.Duration((setup - n.Setup) * float64(time.Second))
		at, ok := l.shop.Hours(n.Machine, n.At).After(n.At, max(0, left))
		if ok && setup > 0 {
			set, until = at, ends(l.shop, n.Machine, at, run)
		}
	}
	return set, until
}

// paceBatches is the minimum of batches that show how an operation keeps to its plan.
const paceBatches = 5

// scaled is a planned time of one batch as the operation's times have been: planned is
// that of the operation, which may have been changed for the batch.
func scaled(own, planned float64, s *Spread) float64 {
	switch {
	case s.N < paceBatches:
		return own
	case own > 0 && planned > 0:
		return own * s.Mean / planned
	}
	return s.Mean
}
