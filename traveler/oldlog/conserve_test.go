package oldlog

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// anyLog draws the rows of some batches, as odd as real ones: operations done
// again, counts that are more or fewer than there can be, or none at all, stops,
// rows that overlap, stand there twice, or have no time.
func anyLog(t *rapid.T) (rows []Row, pieces map[string]int) {
	pieces = map[string]int{}
	for b := range rapid.IntRange(1, 4).Draw(t, "batches") {
		name := fmt.Sprint("A-", b)
		lot := rapid.SampledFrom([]int{0, 1, 12, 400}).Draw(t, "lot")
		pieces[name] = lot
		counts := rapid.SampledFrom([]int{0, 1, 15, 300}).Draw(t, "counts")
		n := func(what string) int {
			if counts == 0 || rapid.IntRange(0, 3).Draw(t, what+"?") == 0 {
				return 0
			}
			return rapid.IntRange(0, counts).Draw(t, what)
		}
		for range rapid.IntRange(1, 12).Draw(t, "rows") {
			start := at(float64(rapid.IntRange(0, 900).Draw(t, "start")) / 2)
			r := Row{
				Line: len(rows) + 2, Batch: name, Part: rapid.SampledFrom([]string{"P", "Q"}).Draw(t, "part"),
				Pieces: lot, Start: start,
				Operation: rapid.SampledFrom([]string{"saw", "turn", "mill", "wash", "pack"}).Draw(t, "op"),
				Machine:   rapid.SampledFrom([]string{"L1", "L2", "M1"}).Draw(t, "machine"),
				Kind:      rapid.SampledFrom([]Kind{Run, Run, Setup, Stop}).Draw(t, "kind"),
				End:       start.Add(time.Duration(rapid.IntRange(0, 300).Draw(t, "minutes")) * time.Minute),
				Good:      n("good"), Scrap: n("scrap") / 8, Rework: n("rework") / 8, Review: n("review") / 8,
			}
			for range rapid.SampledFrom([]int{1, 1, 1, 2}).Draw(t, "times") {
				rows = append(rows, r)
			}
		}
	}
	return rows, pieces
}

// conserved holds that no piece of a batch is lost or made, as a whole and at
// each operation.
func conserved(t *rapid.T, f *story.Family, over bool, lot int) {
	s := f.Sum(0)
	if s.Started+s.In-s.Out != s.Good+s.Scrap+s.ReworkOpen+s.ReviewOpen+s.Missing+s.ToDo || s.Over != 0 {
		t.Fatalf("not conserved: %+v", s)
	}
	if lot > 0 && s.Started != lot {
		t.Fatalf("%d started, the log says %d: %+v %+v", s.Started, lot, f.Tallies(0), f.Batches[0].Reckoned)
	}
	if over && (s.ToDo != 0 || s.ReworkOpen != 0 || s.ReviewOpen != 0 || f.State(0) != story.StateDone) {
		t.Fatalf("over, but %s with %+v", f.State(0), s)
	}
	came := s.Started
	for _, x := range f.Tallies(0) {
		if x.In != x.Good+x.Scrap+x.ReworkOpen+x.ReviewOpen+x.Missing+x.ToDo || x.In != came || x.Over != 0 ||
			min(x.Good, x.Scrap, x.Missing, x.ToDo, x.ReworkOpen, x.ReviewOpen) < 0 {
			t.Fatalf("operation %v of %d that came: %+v", x.Operation, came, x)
		}
		came = x.Good
	}
	counted := 0
	for i := range f.Visits {
		v := &f.Visits[i]
		counted += v.Good + v.Scrap + v.Rework + v.Review
	}
	if over && counted == 0 && s.Good != 0 {
		t.Fatalf("nobody counted anything, and %d are good", s.Good)
	}
}

// Whatever rows say, pieces are conserved: in each batch and at each operation;
// a batch that is over has nothing to do, and what was started is what the log
// says. A log that is imported again when it has grown keeps all of it.
func TestPiecesAreConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, pieces := anyLog(t)
		o := Options{
			Now:        day.AddDate(1, 0, 0),
			OverAfter:  time.Duration(rapid.SampledFrom([]int{0, 5, 4000}).Draw(t, "over")) * 24 * time.Hour,
			By:         maker,
			Duplicates: rapid.Bool().Draw(t, "duplicates"), Apart: rapid.Bool().Draw(t, "apart"),
		}
		shop := &traveler.Shop{}
		known := map[traveler.Code]*story.Family{}
		o.Family = func(c traveler.Code) *story.Family { return known[c] }
		half := rapid.IntRange(1, len(rows)).Draw(t, "half")
		for _, part := range [][]Row{rows[:half], rows, rows} {
			p := Make(part, shop, &Oddities{}, o)
			shop = shop.With(&traveler.Change{From: day, Machines: p.Machines, Routes: p.Routes})
			visits := 0
			for i := range p.Batches {
				b := &p.Batches[i]
				record := recordOf(known[b.Card])
				if !b.Known {
					record = []*traveler.Entry{
						{Seq: 1, Arrived: o.Now, By: maker, Rules: story.Rules, Release: &b.Release,
							Card: b.Card}}
				}
				for j := range b.Scans {
					m, _ := shop.FindMachine(b.Scans[j].Station)
					record = append(record,
						&traveler.Entry{Seq: record[len(record)-1].Seq + 1, Arrived: o.Now, By: maker,
							Scan: &b.Scans[j], Card: b.Card, Machine: m})
				}
				f := story.Fold(shop, record)
				known[b.Card] = f
				visits += len(f.Visits)
				for _, q := range f.Questions() {
					if q.Settled == nil {
						t.Fatalf("an open question: %+v", q)
					}
				}
				last := time.Time{}
				for _, v := range f.Visits {
					if v.Finished.After(last) {
						last = v.Finished
					}
				}
				lot := pieces[b.Release.WorksOrder]
				conserved(t, f, p.Report.To.Sub(last) >= o.OverAfter, lot)
			}
			if visits != p.Report.Taken {
				t.Fatalf("%d visits of %d rows", visits, p.Report.Taken)
			}
		}
	})
}

func recordOf(f *story.Family) []*traveler.Entry {
	if f == nil {
		return nil
	}
	return f.Record()
}
