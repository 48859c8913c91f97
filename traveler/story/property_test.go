package story_test

import (
	"bytes"
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	. "tallywalk/traveler"
	"tallywalk/traveler/calendar"
	. "tallywalk/traveler/story"
)

// world is a random shop with one family, for properties that hold for all.
type world struct {
	shop *Shop
	f    *Family
	root Code
	n    uint64
	ids  []ScanID
	kids []Code
	now  time.Time
}

func drawWorld(t *rapid.T) *world {
	w := &world{now: day.Add(8 * time.Hour)}
	c := &Change{From: day}
	centres := []WorkCentre{"LATHE", "MILL", "INSP", "HAND"}
	for i := range rapid.IntRange(2, 6).Draw(t, "machines") {
		code, _ := NewCode(KindMachine, uint64(i))
		c.Machines = append(c.Machines, Machine{
			ID: MachineID(fmt.Sprintf("M%d", i)), Code: code, WorkCentre: centres[i%len(centres)],
			X: float64(i * 7), Y: float64(i % 3),
			Calendar:   rapid.SampledFrom([]string{"", "short"}).Draw(t, "calendar"),
			Unattended: rapid.Bool().Draw(t, "unattended"),
		})
	}
	// Short turns, so that few steps pass many closings.
	c.Calendars = []calendar.Calendar{{Name: "short", Zone: "UTC", Turns: []calendar.Turn{
		{Kind: calendar.Shift, Days: "daily", From: "08:00", To: "08:40"},
		{Kind: calendar.Shift, Days: "daily", From: "09:00", To: "12:00"},
		{Kind: calendar.Break, Days: "daily", From: "10:00", To: "10:10"},
		{Kind: calendar.Shift, Days: "mon-fri", From: "22:00", To: "04:00"},
	}}}
	r := Route{Part: "P", Rev: "A", DrawingRev: "1"}
	for i := range rapid.IntRange(1, 5).Draw(t, "operations") {
		r.Operations = append(r.Operations, Operation{
			Number: Op(10 * (i + 1)), WorkCentre: rapid.SampledFrom(centres).Draw(t, "centre"),
			CycleMin: 1, PiecesPerCycle: 1, FirstOff: rapid.Bool().Draw(t, "first off"),
		})
	}
	c.Routes = []Route{r}
	w.shop = new(Shop).With(c)
	w.root = w.code()
	e := &Entry{Seq: 1, Arrived: w.now, Rules: Rules, Card: w.root, Release: &Release{
		ID: w.id(), Part: "P", RouteRev: "A", Pieces: rapid.IntRange(1, 60).Draw(t, "pieces"),
	}}
	w.f = Fold(w.shop, []*Entry{e})
	return w
}

func (w *world) id() ScanID {
	w.n++
	return ScanID(fmt.Sprintf("00000000-0000-7000-8000-%012x", w.n))
}

func (w *world) code() Code {
	for {
		w.n++
		if c, ok := NewCode(KindBatch, w.n); ok {
			return c
		}
	}
}

// drawEntry draws any scan at all: sensible, hostile, late, doubled, reordered.
func (w *world) drawEntry(t *rapid.T) *Entry {
	s := &Scan{ID: w.id(), Action: rapid.SampledFrom(Actions).Draw(t, "action"), Station: "M"}
	present := rapid.Bool().Draw(t, "present")
	s.Present = &present
	w.now = w.now.Add(time.Duration(rapid.IntRange(0, 1200).Draw(t, "pass")) * time.Second)
	s.At = w.now.Add(
		-time.Duration(rapid.SampledFrom([]int{0, 0, 0, 0, 5, 600, 7200, -300}).Draw(t, "ago")) * time.Second)
	if rapid.IntRange(0, 5).Draw(t, "has device") > 1 {
		s.Device = DeviceID(rapid.SampledFrom([]string{"D1", "D2"}).Draw(t, "device"))
		s.N = uint64(rapid.IntRange(1, 40).Draw(t, "n"))
		s.WithinMS = int64(rapid.SampledFrom([]int{0, 20, 60000}).Draw(t, "within"))
	}
	if rapid.IntRange(0, 9).Draw(t, "says when") == 0 {
		h := s.At.Add(-time.Hour)
		s.Happened = &h
	}
	w.drawCounts(t, s)
	s.Operation = Op(rapid.SampledFrom([]int{0, 0, 0, 10, 20, 30, 70}).Draw(t, "op"))
	s.Anyway = rapid.IntRange(0, 3).Draw(t, "anyway") == 0
	s.For = rapid.SampledFrom([]string{"", "", "10", "20", "drawing", "add", "skip", "pieces"}).Draw(t, "for")
	s.To = rapid.SampledFrom([]string{"", "M0", "M1", "nowhere"}).Draw(t, "to")
	s.Pieces = rapid.SampledFrom([]int{0, 1, 5, 20}).Draw(t, "pieces")
	s.Reason = rapid.SampledFrom([]string{"", "use", "concession", "material"}).Draw(t, "reason")
	s.Note = rapid.SampledFrom([]string{"", "C-1"}).Draw(t, "note")
	e := &Entry{Scan: s, Arrived: w.now, Card: w.root, Seq: Seq(len(w.f.Record()) + 1)}
	e.Machine = MachineID(fmt.Sprintf("M%d", rapid.IntRange(0, 6).Draw(t, "machine")))
	e.By = Actor{Name: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "who"), Role: rapid.SampledFrom([]Role{
		RoleOperator, RoleOperator, RoleInspector, RoleSupervisor, RoleAdministrator, "",
	}).Draw(t, "role")}
	if len(w.kids) > 0 && rapid.Bool().Draw(t, "on a child") {
		e.Card = rapid.SampledFrom(w.kids).Draw(t, "child")
	}
	w.drawControl(t, e)
	return e
}

func (w *world) drawCounts(t *rapid.T, s *Scan) {
	n := func(name string) *int {
		if rapid.IntRange(0, 2).Draw(t, name+"?") == 0 {
			v := rapid.IntRange(0, 30).Draw(t, name)
			return &v
		}
		return nil
	}
	s.Good, s.Missing, s.Reads = n("good"), n("missing"), n("reads")
	loss := func(name string) []Loss {
		if rapid.IntRange(0, 4).Draw(t, name+"?") == 0 {
			return []Loss{{Reason: "size", N: rapid.IntRange(1, 5).Draw(t, name), CausedAt: 10}}
		}
		return nil
	}
	s.Scrap, s.Rework, s.Review = loss("scrap"), loss("rework"), loss("review")
	s.Phase = rapid.SampledFrom([]string{"", "run", "setup"}).Draw(t, "phase")
}

func (w *world) drawControl(t *rapid.T, e *Entry) {
	s := e.Scan
	switch s.Action {
	case ActUndo, ActCorrect:
		if len(w.ids) > 0 {
			s.For = string(rapid.SampledFrom(w.ids).Draw(t, "target"))
		}
	case ActDecide:
		if qs := w.f.Questions(); len(qs) > 0 && rapid.Bool().Draw(t, "a question") {
			q := rapid.SampledFrom(qs).Draw(t, "question")
			s.For, s.Reason = q.ID, rapid.SampledFrom(q.Choices).Draw(t, "choice")
		}
	case ActSplit:
		e.Other = w.code()
		w.kids = append(w.kids, e.Other)
	case ActJoin:
		if len(w.kids) > 0 {
			e.Other = rapid.SampledFrom(w.kids).Draw(t, "sibling")
		}
	}
	w.ids = append(w.ids, s.ID)
}

// Pieces are conserved, nothing panics, and a rebuild gives the same as the
// live state, whatever is scanned.
func TestAnyScansConservePieces(t *testing.T) { rapid.Check(t, anyScans) }

// FuzzStory lets the fuzzer choose the scans.
func FuzzStory(f *testing.F) {
	f.Add([]byte("a lathe, a mill, and fifty pieces"))
	f.Add(bytes.Repeat([]byte{0, 1, 0xff, 7}, 200))
	f.Fuzz(rapid.MakeFuzz(anyScans))
}

func anyScans(t *rapid.T) {
	w := drawWorld(t)
	for range rapid.IntRange(1, 40).Draw(t, "scans") {
		before := dump(w.f)
		was := w.f
		w.f, _ = w.f.Add(w.shop, w.drawEntry(t))
		if dump(was) != before {
			t.Fatal("the family before was changed")
		}
		checkFamily(t, w.shop, w.f)
	}
}

// The same late scans give the same story in whatever order they arrive.
func TestArrivalOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		var entries []*Entry
		for range rapid.IntRange(2, 25).Draw(t, "scans") {
			entries = append(entries, w.drawEntry(t))
		}
		arrived := w.now.Add(time.Hour)
		hear := func(order []int) string {
			f := w.f
			for i, k := range order {
				e := *entries[k]
				s := *e.Scan
				late := false
				s.Present = &late
				e.Scan, e.Arrived, e.Seq = &s, arrived, Seq(i+2)
				f, _ = f.Add(w.shop, &e)
			}
			checkFamily(t, w.shop, f)
			return dump(f)
		}
		straight := make([]int, len(entries))
		for i := range straight {
			straight[i] = i
		}
		a, b := hear(straight), hear(rapid.Permutation(straight).Draw(t, "order"))
		if a != b {
			t.Fatalf("two orders of arrival make two stories: %s", firstDifference(a, b))
		}
	})
}

// Undoing everything, newest first or in any order, returns to the start.
func TestUndoEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		start := w.f
		var kept []*Entry
		for range rapid.IntRange(1, 25).Draw(t, "scans") {
			e := w.drawEntry(t)
			w.f, _ = w.f.Add(w.shop, e)
			if e.Outcome != Refused && e.Scan.Action != ActUndo && e.Scan.Action != ActCorrect &&
				e.Scan.Action != ActDecide {
				kept = append(kept, e)
			}
		}
		slices.Reverse(kept)
		if rapid.Bool().Draw(t, "any order") {
			kept = rapid.Permutation(kept).Draw(t, "order")
		}
		// Controls are taken back first: what they changed is then as it was.
		for _, l := range w.f.Lines.All() {
			switch l.Entry.Scan.Action {
			case ActUndo, ActCorrect, ActDecide:
				kept = append([]*Entry{l.Entry}, kept...)
			}
		}
		for _, e := range kept {
			w.now = w.now.Add(time.Second)
			u := &Entry{Seq: Seq(len(w.f.Record()) + 1), Arrived: w.now, Card: w.root, Machine: "M0",
				By:   Actor{Name: "s", Role: RoleSupervisor},
				Scan: &Scan{ID: w.id(), At: w.now, Station: "M0", Action: ActUndo, For: string(e.Scan.ID)}}
			w.f, _ = w.f.Add(w.shop, u)
		}
		got, want := w.f.Batches, start.Batches
		if fmt.Sprintf("%+v", got) != fmt.Sprintf("%+v", want) || len(w.f.Visits) != 0 ||
			len(w.f.Questions()) != 0 {
			t.Fatalf("not as at the start:\n%+v\n%+v\n%+v\n%+v", got, want, w.f.Visits, w.f.Questions())
		}
	})
}
