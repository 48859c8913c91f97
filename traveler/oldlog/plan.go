package oldlog

import (
	"crypto/sha256"
	"encoding/binary"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Options say how a log is taken.
type Options struct {
	Now time.Time
	// OverAfter is for how long nothing must have come of a batch before the log
	// ended for it to count as over, whatever was counted.
	OverAfter time.Duration
	// Duplicates: rows that say the same, word for word, are each taken.
	Duplicates bool
	// Apart: rows of an operation between which the batch was worked on elsewhere
	// are passes of their own, in which the same pieces come again.
	Apart bool
	// By is who answers for what is made.
	By traveler.Actor
	// Family gives the family of a card, or nil when there is none yet.
	Family func(traveler.Code) *story.Family
}

// Plan is what a log becomes.
type Plan struct {
	Machines []traveler.Machine // that are not there yet
	Routes   []traveler.Route
	Batches  []Batch
	Report   Report
}

// Batch is a batch of the log.
type Batch struct {
	Release traveler.Release
	Card    traveler.Code
	Known   bool // it is there already
	Scans   []traveler.Scan
}

// Report says what was made of a log.
type Report struct {
	Rows, Taken int
	From, To    time.Time
	Batches     int
	Machines    int
	Scans       int // new ones
	Again       int // scans that are there already
	Odd         *Oddities
	// How batches ended: by what was counted; because nothing came any more; not.
	Done, Over, Open int
	NeverEnded       []string
	// Questions that the numbers raised, by what they ask, and how they were
	// settled; pieces that were never accounted for in batches that are over.
	Settled  map[string]int
	Missing  int
	Anyway   map[string]int // scans taken though they did not fit, by what did not
	Attached int            // operations added to batches that were there
	People   int            // that the rows name
	Doings   int            // operations by name
	// Of all operations: pieces that went on though no row counts them, and good
	// ones that rows count beyond what can have been there.
	Passed, CountedAgain int
}

// Make plans what becomes of the rows of a log, and folds their story without
// keeping anything.
func Make(rows []Row, shop *traveler.Shop, odd *Oddities, o Options) *Plan {
	p := &planner{Options: o, shop: shop, Plan: &Plan{}}
	p.Report = Report{Rows: len(rows), Odd: odd, Settled: map[string]int{}, Anyway: map[string]int{}}
	rows = tidy(rows, &o, odd)
	all := jobs(rows, o.Apart, odd)
	p.Report.Taken, p.Report.Batches = len(rows), len(all)
	for i := range rows {
		if i == 0 {
			p.Report.From = rows[i].Start
		}
		if rows[i].End.After(p.Report.To) {
			p.Report.To = rows[i].End
		}
	}
	p.Report.People = different(rows, func(r *Row) string { return r.Person })
	p.Report.Doings = different(rows, func(r *Row) string { return r.Operation })
	p.machines(rows)
	p.revs()
	p.way = ways(all)
	cards := make([]*place, len(all))
	for i, j := range all {
		cards[i] = p.place(j)
	}
	p.shop = p.shop.With(&traveler.Change{From: o.Now, Machines: p.Machines, Routes: p.Routes})
	for i, j := range all {
		if f := cards[i].family; f != nil && !j.said {
			j.pieces = max(j.pieces, f.Batches[0].Started)
		}
		p.batch(j, cards[i])
	}
	return p.Plan
}

// different counts what rows say differently; nothing is none of it.
func different(rows []Row, of func(*Row) string) int {
	seen := map[string]bool{}
	for i := range rows {
		if x := of(&rows[i]); x != "" {
			seen[x] = true
		}
	}
	return len(seen)
}

type planner struct {
	Options
	*Plan
	shop   *traveler.Shop
	centre map[string]traveler.WorkCentre // of an operation
	revOf  map[string]string              // of a part and its operations
	next   map[string]int                 // number of the last revision of a part
	there  map[string][][]string          // the operations of the routes that are there, of a part
	way    map[*job]*way
	taken  map[traveler.Code]bool
}

// machines finds the machines that are not there, and the work centre of each
// operation: that of the machine that did most of it.
func (p *planner) machines(rows []Row) {
	most := map[string]map[string]int{}
	var names []string
	for i := range rows {
		r := &rows[i]
		if most[r.Operation] == nil {
			most[r.Operation] = map[string]int{}
		}
		most[r.Operation][r.Machine]++
		if !slices.Contains(names, r.Machine) {
			names = append(names, r.Machine)
		}
	}
	slices.Sort(names)
	p.Report.Machines = len(names)
	centres := map[string]traveler.WorkCentre{}
	for _, n := range names {
		id, known := p.shop.FindMachine(n)
		if m, ok := p.shop.Machine(id, p.Now); known && ok {
			centres[n] = m.WorkCentre
			continue
		}
		centres[n] = traveler.WorkCentre(n)
		p.Machines = append(p.Machines,
			traveler.Machine{ID: traveler.MachineID(n), Name: n, WorkCentre: traveler.WorkCentre(n)})
	}
	p.centre = map[string]traveler.WorkCentre{}
	for op, by := range most {
		best := ""
		for _, n := range names {
			if by[n] > by[best] {
				best = n
			}
		}
		p.centre[op] = centres[best]
	}
}

const revPrefix = "log-"

// revs reads the revisions that earlier logs made.
func (p *planner) revs() {
	p.revOf, p.next = map[string]string{}, map[string]int{}
	p.taken, p.there = map[traveler.Code]bool{}, map[string][][]string{}
	for _, r := range p.shop.Routes() {
		n, err := strconv.Atoi(strings.TrimPrefix(r.Rev, revPrefix))
		if err != nil || !strings.HasPrefix(r.Rev, revPrefix) {
			continue
		}
		ops := make([]string, len(r.Operations))
		for i := range r.Operations {
			ops[i] = r.Operations[i].Instruction
		}
		p.revOf[routeKey(r.Part, ops)] = r.Rev
		p.there[r.Part] = append(p.there[r.Part], ops)
		p.next[r.Part] = max(p.next[r.Part], n)
	}
}

// place is where a batch goes: its card, its family if there is one, and the
// numbers of its operations.
type place struct {
	card    traveler.Code
	release traveler.Release
	family  *story.Family
	numbers map[string]traveler.Op
	added   []string // operations that its route does not have
}

// place finds the card of a batch: made of its name, and the next one where that
// is another's.
func (p *planner) place(j *job) *place {
	sum := sha256.Sum256([]byte("batch of a log\x00" + j.batch))
	pl := &place{numbers: map[string]traveler.Op{}, release: traveler.Release{ID: idOf(sum[:])}}
	for n := binary.BigEndian.Uint64(sum[:]); ; n++ {
		card, ok := traveler.NewCode(traveler.KindBatch, n)
		if !ok || p.taken[card] {
			continue
		}
		f := p.Family(card)
		if f != nil && f.Record()[0].ID() != pl.release.ID {
			continue
		}
		pl.card, pl.family = card, f
		break
	}
	p.taken[pl.card] = true
	if pl.family != nil {
		p.follow(pl, j)
		return pl
	}
	ops := p.route(j)
	for i, op := range ops {
		pl.numbers[op] = traveler.Op(10 * (i + 1))
	}
	pl.release.Part, pl.release.RouteRev, pl.release.Pieces = j.part, p.rev(j, ops), j.pieces
	pl.release.WorksOrder, pl.release.Released = j.batch, j.rows[0].Start
	return pl
}

// follow takes the numbers that a batch's operations have, and numbers those
// that are new after them.
func (p *planner) follow(pl *place, j *job) {
	pl.release = *pl.family.Record()[0].Release
	last := traveler.Op(0)
	for _, o := range pl.family.Batches[0].Ops {
		if _, ok := pl.numbers[o.Instruction]; !ok {
			pl.numbers[o.Instruction] = o.Number
		}
		last = max(last, o.Number)
	}
	for _, op := range j.ops {
		if _, ok := pl.numbers[op]; !ok {
			last += 10
			pl.numbers[op] = last
			pl.added = append(pl.added, op)
		}
	}
}

// route is the operations of the route that a batch goes on: the shortest one
// that is there already and holds all that the batch did, else its way.
func (p *planner) route(j *job) (best []string) {
	for _, ops := range p.there[j.part] {
		if within(j.ops, ops) && (best == nil || len(ops) < len(best)) {
			best = ops
		}
	}
	if best == nil {
		best = p.way[j].ops
	}
	return best
}

// rev is the route revision with some operations, a new one where there is none.
func (p *planner) rev(j *job, ops []string) string {
	key := routeKey(j.part, ops)
	if rev, ok := p.revOf[key]; ok {
		return rev
	}
	p.next[j.part]++
	r := traveler.Route{Part: j.part, PartName: j.partName, Rev: revPrefix + strconv.Itoa(p.next[j.part])}
	for i, op := range ops {
		r.Operations = append(r.Operations, traveler.Operation{
			Number: traveler.Op(10 * (i + 1)), WorkCentre: p.centre[op], Instruction: op, PiecesPerCycle: 1,
		})
	}
	p.revOf[key] = r.Rev
	p.Routes = append(p.Routes, r)
	return r.Rev
}
