// Package desktest holds what must be true of a desk over any log.
package desktest

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/store/desk"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/story"
)

// step is what a shop did at one moment: it released a batch, was changed or sent scans.
type step struct {
	at      time.Time
	release *traveler.Release
	change  *traveler.Change
	said    []story.Said
}

// setting is a way to run a desk. None may change what is known.
type setting struct {
	name    string
	opt     desk.Options
	group   int // scans of a request; 0 as they were drawn
	restart int // steps after which the desk is opened again; 0 never
	given   int // entries of a group, by which another server takes the record over after half the steps; 0 not
	copied  int // entries of a page, by which the record is copied into an empty log at the end; 0 not
}

var settings = []setting{
	{name: "a snapshot every 3 entries, opened again after each step", opt: desk.Options{SnapshotEvery: 3},
		restart: 1},
	{name: "a snapshot every 10 entries, opened again after 5 steps", opt: desk.Options{SnapshotEvery: 10},
		restart: 5},
	{name: "no snapshots", opt: desk.Options{SnapshotEvery: 1 << 20}, restart: 7},
	{name: "scans one by one", group: 1},
	{name: "scans by seven", group: 7},
	{name: "ended families leave at once", opt: desk.Options{Keep: time.Hour, ThinEvery: 2, Shelf: 1},
		restart: 3},
	{name: "nothing leaves", opt: desk.Options{Keep: 1000 * time.Hour, ThinEvery: 1 << 20}, restart: 3},
	{name: "taken over, in groups of one", given: 1},
	{name: "taken over, in groups of seven", given: 7, opt: desk.Options{SnapshotEvery: 10, Keep: time.Hour}},
	{name: "taken over in one group", given: 1 << 20},
	{name: "copied one by one", copied: 1},
	{name: "copied by 64", copied: 64, opt: desk.Options{ThinEvery: 7, SnapshotEvery: 5}},
}

// Alike fails when the same scans give another record, other stories, boards or
// facts for another interval of snapshots, restarts between, other sizes of groups,
// other rules of what stays in memory, when another server followed and takes over, or when
// the record is copied into an empty log. open gives an empty log each time, which Alike closes. The
// expectation has no source outside: it is the desk's own promise. A round draws one history.
func Alike(t *testing.T, rounds int, open func(t testing.TB) story.Log) {
	for seed := range rounds {
		draws := make([]byte, 1<<15)
		if _, err := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), 7}).Read(draws); err != nil {
			t.Fatal(err)
		}
		rapid.MakeFuzz(func(rt *rapid.T) {
			first := newRun(t, setting{name: "as drawn"}, open(t))
			steps := first.draw(rt)
			want := first.known()
			first.close()
			for _, s := range settings {
				r := newRun(t, s, open(t))
				r.play(steps)
				if s.copied > 0 {
					r.copyInto(open(t))
				}
				same(rt, fmt.Sprintf("seed %d, %s", seed, s.name), r.known(), want)
				r.close()
			}
		})(t, draws)
	}
}

// run is a desk in a setting, with a clock that is set by hand.
type run struct {
	testing.TB
	set  setting
	log  story.Log
	desk *desk.Desk
	now  atomic.Pointer[time.Time] // the desk looks at it from elsewhere
	ids  uint64
}

func (r *run) at() time.Time { return *r.now.Load() }

func (r *run) put(t time.Time) { r.now.Store(&t) }

func newRun(t testing.TB, s setting, log story.Log) *run {
	r := &run{TB: t, set: s, log: log}
	r.put(time.Date(2026, 11, 25, 6, 0, 0, 0, time.UTC))
	r.set.opt.Now = r.at
	r.set.opt.Rand = rand.NewChaCha8([32]byte{1})
	r.open()
	r.must(r.desk.Change(context.Background(), storetest.Supervisor, storetest.Shop()))
	return r
}

func (r *run) must(err error) {
	r.Helper()
	if err != nil {
		r.Fatalf("%s: %v", r.set.name, err)
	}
}

func (r *run) open() {
	d, err := desk.New(r.log, r.set.opt)
	r.must(err)
	r.desk = d
}

func (r *run) close() {
	r.must(r.desk.Close())
	r.must(r.log.Close())
}

func (r *run) shift() *storetest.Shift {
	return &storetest.Shift{
		ID: func() traveler.ScanID {
			r.ids++
			return storetest.UUID7(r.at(), r.ids)
		},
		Pass: func(d time.Duration) time.Time {
			r.put(r.at().Add(d))
			return r.at()
		},
	}
}

// draw makes steps up and takes them as they come.
func (r *run) draw(t *rapid.T) (steps []step) {
	shift := r.shift()
	for i := range rapid.IntRange(4, 16).Draw(t, "steps") {
		var s step
		switch n := rapid.IntRange(0, 9).Draw(t, "what"); {
		case i == 0 || n == 0:
			s.release = &traveler.Release{
				ID: shift.ID(), Part: "bracket", RouteRev: "1", Pieces: 20,
				WorksOrder: rapid.SampledFrom([]string{"W1", "W2", ""}).Draw(t, "order"),
			}
		case n == 1:
			s.said = through(shift, rapid.SampledFrom(shift.Cards).Draw(t, "card"))
		case n == 3:
			s.change = changed(t, i, r.at())
		case n == 4:
			s.said = takenBefore(t, shift.Send(t, 12), r.at())
		case n == 2:
			shift.Pass(time.Duration(rapid.IntRange(1, 60).Draw(t, "hours")) * time.Hour)
			fallthrough
		default:
			s.said = shift.Send(t, 12)
		}
		s.at = r.at()
		answers := r.take(&s)
		if s.release != nil {
			shift.Cards = append(shift.Cards, answers[0].Card)
		}
		shift.Learn(answers)
		steps = append(steps, s)
	}
	return steps
}

// changed is the shop with another machine, from some time up to now on.
func changed(t *rapid.T, i int, now time.Time) *traveler.Change {
	m := storetest.Shop().Machines[rapid.IntRange(0, 4).Draw(t, "machine")]
	m.Name = fmt.Sprint("Machine ", i)
	m.WorkCentre = rapid.SampledFrom([]traveler.WorkCentre{"turning", "milling", "inspection"}).Draw(t,
		"work centre")
	from := now.Add(-time.Duration(rapid.IntRange(0, 90).Draw(t, "hours before")) * time.Hour)
	return &traveler.Change{From: from, Machines: []traveler.Machine{m}}
}

// takenBefore are scans that another record had taken in, some minutes ago; a split would
// need the card that it gave there.
func takenBefore(t *rapid.T, said []story.Said, now time.Time) []story.Said {
	for i := range said {
		if said[i].Scan.Action != traveler.ActSplit {
			before := time.Duration(rapid.IntRange(0, 300).Draw(t, "minutes before")) * time.Minute
			said[i].Taken = &story.Taken{Arrived: now.Add(-before)}
		}
	}
	return said
}

// through takes a batch through its route, so that it ends.
func through(shift *storetest.Shift, card traveler.Code) (said []story.Said) {
	pieces := 20
	for _, station := range []string{"L1", "M1", "Q1"} {
		for _, act := range []traveler.Action{traveler.ActRun, traveler.ActCount, traveler.ActFinish} {
			s := traveler.Scan{
				ID: shift.ID(), Device: "office", At: shift.Pass(time.Minute), Station: station,
				Card: string(card), Action: act,
			}
			if act == traveler.ActCount {
				s.Good = &pieces
			}
			said = append(said, story.Said{By: storetest.Supervisor, Scan: s})
		}
	}
	return said
}

// take does a step, in requests of the setting's size.
func (r *run) take(s *step) (answers []story.Answer) {
	ctx := context.Background()
	r.put(s.at)
	if s.change != nil {
		r.must(r.desk.Change(ctx, storetest.Supervisor, s.change))
		return nil
	}
	if s.release != nil {
		a, err := r.desk.Release(ctx, storetest.Supervisor, []traveler.Release{*s.release}, nil)
		r.must(err)
		return a
	}
	group := r.set.group
	if group == 0 {
		group = len(s.said)
	}
	for part := range slices.Chunk(s.said, group) {
		a, err := r.desk.Scans(ctx, part)
		r.must(err)
		answers = append(answers, a...)
	}
	return answers
}

func (r *run) play(steps []step) {
	for i := range steps {
		if r.set.given > 0 && i == (len(steps)+1)/2 {
			r.handOver(r.set.given)
		}
		r.take(&steps[i])
		if r.set.restart > 0 && (i+1)%r.set.restart == 0 {
			r.must(r.desk.Close())
			r.open()
		}
	}
}

// copyInto goes on with a copy of the record alone, without rows and snapshot.
func (r *run) copyInto(to story.Log) {
	var all []*traveler.Entry
	r.must(r.log.Entries(1, func(e *traveler.Entry) bool {
		all = append(all, e)
		return true
	}))
	r.close()
	for page := range slices.Chunk(all, r.set.copied) {
		r.must(to.Append(page[0].Seq-1, page, nil))
	}
	r.log = to
	r.open()
}

// known is all that can be asked of a desk, as text by what it is.
func (r *run) known() map[string]string {
	out := map[string]string{}
	seq, _ := r.desk.Head() // links differ, as epochs do
	out["head"] = seq.String()
	out["machines"] = r.text(r.desk.Shop().Machines(r.at()))
	r.must(r.desk.Entries(1, func(e *traveler.Entry) bool {
		out["entry "+e.Seq.String()] = r.text(e)
		for _, card := range []traveler.Code{e.Card, e.Other} {
			if card != "" && out["story "+string(card)] == "" {
				f, err := r.desk.Family(card)
				r.must(err)
				out["story "+string(card)] = r.story(f)
			}
		}
		return true
	}))
	for _, order := range []string{"W1", "W2"} {
		out["order "+order] = r.text(r.desk.FindCard(order))
	}
	r.desk.Open(func(f *story.Family) bool {
		rows := board.Rows(r.desk.Shop(), f, r.at().Format(time.DateOnly), r.at())
		if len(rows) > 0 { // an ended family has none, in memory or not
			out["board "+string(f.Root)] = r.text(rows)
		}
		return true
	})
	r.must(r.desk.Facts(story.FactQuery{Open: true}, func(b *story.BatchFact) bool {
		key := "facts " + string(b.Card)
		if out[key] != "" {
			r.Fatalf("%s: batch %s is listed twice", r.set.name, b.Card)
		}
		out[key] = r.text(b)
		return true
	}))
	return out
}

func (r *run) story(f *story.Family) string {
	var lines []story.Line
	for _, l := range f.Lines.All() {
		lines = append(lines, *l)
	}
	return r.text([]any{f.Root, f.Rules, f.Batches, f.Visits, f.Spans, lines, f.Refused, f.Questions(),
		f.Record()})
}

// text is v without the epoch, which is a random one for each log.
func (r *run) text(v any) string {
	r.Helper()
	data, err := json.Marshal(v)
	r.must(err)
	return strings.ReplaceAll(string(data), r.desk.Epoch(), "epoch")
}

func same(t *rapid.T, what string, got, want map[string]string) {
	keys := maps.Clone(want)
	maps.Copy(keys, got)
	for _, k := range slices.Sorted(maps.Keys(keys)) {
		if got[k] != want[k] {
			i := 0
			for i < min(len(got[k]), len(want[k])) && got[k][i] == want[k][i] {
				i++
			}
			t.Fatalf("%s: %s goes on after %d bytes with\n%.400s\nand as drawn with\n%.400s", what, k, i,
				got[k][i:], want[k][i:])
		}
	}
}
