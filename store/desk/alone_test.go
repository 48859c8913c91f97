package desk

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// A shop's week is played twice: with a network that never fails, and with stations
// that are cut off for 5 % of the time, send again what was answered, are started
// again, and have clocks that are wrong and are put right while they are alone. What
// is known afterwards has to be the same.

// happening is something that someone says at a machine at a moment.
type happening struct {
	at      time.Time
	station string
	batch   int
	action  traveler.Action
	op      traveler.Op
	good    int
	scrap   int
}

const (
	simMachines = 20
	cutOff      = 0.05 // of the time
	wrongUpTo   = 3 * time.Hour
)

// simShop has twenty machines on four operations.
func simShop() *traveler.Change {
	c := &traveler.Change{Reasons: []traveler.Reason{{Kind: "scrap", Code: "dim", Text: "dimension"}}}
	route := traveler.Route{Part: "bracket", PartName: "bracket", Rev: "1", DrawingRev: "A"}
	for k := range 4 {
		wc := traveler.WorkCentre(fmt.Sprintf("centre-%d", k))
		route.Operations = append(route.Operations, traveler.Operation{
			Number: traveler.Op(10 * (k + 1)), WorkCentre: wc, SetupMin: 20, CycleMin: 2, PiecesPerCycle: 1,
		})
		for i := range simMachines / 4 {
			id := traveler.MachineID(fmt.Sprintf("S%d", 5*k+i))
			c.Machines = append(c.Machines, traveler.Machine{ID: id, Name: string(id), WorkCentre: wc})
		}
	}
	c.Routes = []traveler.Route{route}
	return c
}

// simPieces is how many pieces each batch of the week has.
const simPieces = 30

// simWeek is what happens from a moment on: batches go from operation to operation,
// a machine does one thing at a time.
func simWeek(r *rand.Rand, from time.Time, span time.Duration) (all []happening, batches int) {
	free := make([]time.Time, simMachines)
	for i := range free {
		free[i] = from.Add(minutes(r, 5, 60))
	}
	for start := from; start.Before(from.Add(span)); start = start.Add(minutes(r, 30, 90)) {
		at, n := start, simPieces
		for k := range 4 {
			m := 5*k + r.IntN(5)
			if free[m].After(at) {
				at = free[m]
			}
			station := fmt.Sprintf("S%d", m)
			say := func(act traveler.Action, good, scrap int) {
				all = append(all,
					happening{at, station, batches, act, traveler.Op(10 * (k + 1)), good, scrap})
				at = at.Add(minutes(r, 8, 40))
			}
			say(traveler.ActSetup, 0, 0)
			say(traveler.ActRun, 0, 0)
			half, lost := n/2, r.IntN(2)
			say(traveler.ActCount, half, 0)
			say(traveler.ActCount, n-half-lost, lost)
			say(traveler.ActFinish, 0, 0)
			n -= lost
			free[m] = at
			// Pieces lie for a while before they are taken on.
			at = at.Add(minutes(r, 20, 120))
		}
		batches++
	}
	slices.SortStableFunc(all, func(a, b happening) int { return a.at.Compare(b.at) })
	return all, batches
}

func minutes(r *rand.Rand, least, most int) time.Duration {
	return time.Duration(least*60+r.IntN((most-least)*60)) * time.Second
}

// device is a station's page: its box, its clock, and whether the link is up.
type device struct {
	n      uint64
	queue  []traveler.Scan
	wrong  time.Duration // the device's clock less the server's
	offset time.Duration // as it was measured
	within time.Duration
	back   time.Time // alone until then
	next   time.Time // when it is cut off next
}

// player plays happenings against a desk.
type player struct {
	*rig
	r       *rand.Rand
	perfect bool
	cards   []traveler.Code
	devices map[string]*device
	refused map[traveler.ScanID]bool
	sent    map[traveler.ScanID]bool
	late    int // said alone
	again   int // requests sent again
}

func play(t *testing.T, seed uint64, span time.Duration, perfect bool) *player {
	t.Helper()
	r := newRig(t, store.NewMem())
	r.must(r.desk.Change(ctx, supervisor, simShop()))
	p := &player{
		rig: r, r: rand.New(rand.NewPCG(seed, 1)), perfect: perfect, devices: map[string]*device{},
		refused: map[traveler.ScanID]bool{}, sent: map[traveler.ScanID]bool{},
	}
	from := r.hand.now().Add(time.Minute)
	all, batches := simWeek(rand.New(rand.NewPCG(seed, 0)), from, span)
	for i := range batches {
		p.cards = append(p.cards, r.release("bracket", fmt.Sprintf("W-%d", i), simPieces))
	}
	for i := range simMachines {
		p.devices[fmt.Sprintf("S%d", i)] = p.device(from)
	}
	for i := range all {
		p.pass(all[i].at)
		p.say(&all[i], i)
	}
	p.perfect = true // the links stay up from here on
	for _, d := range p.devices {
		d.back = time.Time{}
	}
	p.pass(all[len(all)-1].at.Add(time.Hour))
	return p
}

func (p *player) device(from time.Time) *device {
	d := &device{next: from.Add(p.gap())}
	d.set(time.Duration(p.r.Int64N(int64(2*wrongUpTo))) - wrongUpTo)
	d.measure(p.r)
	return d
}

// gap is how long a link is up, exponentially spread; it is down 45 min in the mean.
func (p *player) gap() time.Duration {
	const down = 45 * time.Minute
	return time.Duration(p.r.ExpFloat64() * float64(down) * (1 - cutOff) / cutOff)
}

// set sets the device's clock. The page carries the server's time on by a clock that
// nobody sets, so its offset follows.
func (d *device) set(wrong time.Duration) {
	d.offset -= wrong - d.wrong
	d.wrong = wrong
}

// measure asks the server for its time: half of the way there and back is the error.
func (d *device) measure(r *rand.Rand) {
	d.within = time.Duration(5+r.IntN(200)) * time.Millisecond
	d.offset = -d.wrong + time.Duration(r.Int64N(int64(2*d.within))) - d.within
}

// pass lets the time come: links go and come, what waited is sent.
func (p *player) pass(to time.Time) {
	if now := p.hand.now(); to.After(now) {
		p.hand.pass(to.Sub(now))
	}
	for i := range simMachines {
		d := p.devices[fmt.Sprintf("S%d", i)]
		if p.alone(d) {
			continue
		}
		if len(d.queue) > 0 {
			d.measure(p.r)
			p.send(d)
		}
		if !p.perfect && to.After(d.next) {
			d.back = to.Add(time.Duration(p.r.ExpFloat64() * float64(45*time.Minute)))
			d.next = d.back.Add(p.gap())
		}
	}
}

func (p *player) alone(d *device) bool { return p.hand.now().Before(d.back) }

// say says what happens: at once, or into the box.
func (p *player) say(h *happening, i int) {
	d := p.devices[h.station]
	if !p.perfect && p.r.IntN(50) == 0 {
		d.set(time.Duration(p.r.Int64N(int64(2*wrongUpTo))) - wrongUpTo)
	}
	d.n++
	seq, _ := p.desk.Head()
	s := traveler.Scan{
		ID: storetest.UUID7(h.at, uint64(i)), Device: traveler.DeviceID(h.station), N: d.n,
		At:       h.at.Add(d.wrong),
		OffsetMS: d.offset.Milliseconds(), WithinMS: d.within.Milliseconds() + 1, Basis: seq,
		Station: h.station,
		Card:    string(p.cards[h.batch]), Action: h.action, Operation: h.op,
	}
	if h.action == traveler.ActCount {
		s.Good = &h.good
		if h.scrap > 0 {
			s.Scrap = []traveler.Loss{{Reason: "dim", N: h.scrap}}
		}
	}
	present := !p.alone(d)
	s.Present = &present
	d.queue = append(d.queue, s)
	p.sent[s.ID] = true
	if present {
		p.send(d)
	} else {
		p.late++
	}
}

// send sends what waits, 50 at a time. Answers are lost, and the server ends, now
// and then: then the same is sent again.
func (p *player) send(d *device) {
	for len(d.queue) > 0 {
		part := d.queue[:min(50, len(d.queue))]
		answers := p.sendAll(worker, part...)
		if !p.perfect {
			if p.r.IntN(200) == 0 {
				p.reopen()
			}
			if p.r.IntN(5) == 0 {
				p.again++
				continue
			}
		}
		d.queue = slices.Clone(d.queue[len(part):])
		for i, a := range answers {
			p.answered(d, part[i], a)
		}
	}
}

// answered says again, anyway, what was refused though it was done: its operator
// knows of what the server has not heard yet.
func (p *player) answered(d *device, s traveler.Scan, a story.Answer) {
	if a.Err != nil {
		p.Fatalf("%s at %s: %v", s.Action, s.Station, a.Err)
	}
	if a.Outcome != traveler.Refused {
		return
	}
	if !a.Offer {
		p.Fatalf("%s at %s is refused: %s", s.Action, s.Station, a.Say.Text("en"))
	}
	p.refused[s.ID] = true
	again := s
	d.n++
	again.ID, again.N, again.Anyway, again.Reason = storetest.UUID7(s.At, 1_000_000+d.n), d.n, true, "told"
	p.sent[again.ID] = true
	d.queue = append(d.queue, again)
}

// outcome is what is known of a batch in the end, without times.
func (p *player) outcome(batch int) string {
	f := p.family(p.cards[batch])
	i := f.Index(p.cards[batch])
	var b strings.Builder
	sum := f.Sum(i)
	fmt.Fprintf(&b, "%s started %d good %d scrap %d to do %d\n", f.State(i), sum.Started, sum.Good, sum.Scrap,
		sum.ToDo)
	if sum.Started != sum.Good+sum.Scrap+sum.ReworkOpen+sum.ReviewOpen+sum.Missing+sum.ToDo-sum.Over {
		p.Errorf("batch %d: pieces are not conserved: %+v", batch, sum)
	}
	for _, v := range visitsInOrder(f) {
		fmt.Fprintf(&b, "%d at %s %s good %d scrap %d\n", v.Operation, v.Machine, v.State, v.Good, v.Scrap)
	}
	for _, q := range f.Questions() {
		if q.Settled == nil {
			fmt.Fprintf(&b, "asks %s\n", q.Known.Key)
		}
	}
	return b.String()
}

func visitsInOrder(f *story.Family) []story.Visit {
	out := slices.Clone(f.Visits)
	slices.SortStableFunc(out, func(a, b story.Visit) int { return int(a.Operation) - int(b.Operation) })
	return out
}

// once looks that the record has each scan that was sent, once.
func (p *player) once() {
	p.Helper()
	seen := map[traveler.ScanID]int{}
	p.must(p.desk.Entries(1, func(e *traveler.Entry) bool {
		if e.Scan != nil {
			seen[e.Scan.ID]++
		}
		return true
	}))
	for id := range p.sent {
		if seen[id] != 1 {
			p.Errorf("scan %s is there %d times", id, seen[id])
		}
	}
	if len(seen) != len(p.sent) {
		p.Errorf("%d scans in the record, %d were sent", len(seen), len(p.sent))
	}
}

// The rules are ours; there is no source outside. The share of the time in which
// links are down is the issue's.
func TestWeekAlone(t *testing.T) {
	seeds, span := 1, 24*time.Hour
	if os.Getenv("TALLYWALK_LONG") != "" {
		seeds, span = 10, 7*24*time.Hour
	}
	for seed := range uint64(seeds) {
		want, got := play(t, seed, span, true), play(t, seed, span, false)
		got.once()
		uncertain, off := 0, 0
		for i := range want.cards {
			if w, g := want.outcome(i), got.outcome(i); w != g {
				t.Errorf("seed %d, batch %d: with a perfect network\n%salone\n%s", seed, i, w, g)
			}
			u, o := timesOff(want.family(want.cards[i]), got.family(got.cards[i]))
			uncertain, off = uncertain+u, off+o
		}
		if off > 0 {
			t.Errorf("seed %d: %d times are further off than they say", seed, off)
		}
		if got.late == 0 || got.again == 0 {
			t.Errorf("seed %d: %d scans were said alone, %d requests sent again", seed, got.late, got.again)
		}
		t.Logf(
			"seed %d: %d batches, %d scans, %d of them alone, %d refused and said anyway, %d requests again, %d visits of uncertain time",
			seed, len(got.cards), len(got.sent), got.late, len(got.refused), got.again, uncertain,
		)
	}
}

// timesOff compares when visits began and ended; their clocks' stated error is a
// fifth of a second.
func timesOff(want, got *story.Family) (uncertain, off int) {
	w, g := visitsInOrder(want), visitsInOrder(got)
	if len(w) != len(g) {
		return 0, 0 // said already
	}
	for i := range w {
		if g[i].TimeUncertain {
			uncertain++
		}
		if w[i].Arrived.Sub(g[i].Arrived).Abs() > time.Second ||
			w[i].Finished.Sub(g[i].Finished).Abs() > time.Second {
			off++
		}
	}
	return uncertain, off
}
