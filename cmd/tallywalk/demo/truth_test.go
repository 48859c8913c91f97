package demo

import (
	"math"
	"os"
	"slices"
	"testing"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// muddles are the muddles that a year holds, as the simulation made them.
var muddles = []string{
	"anyway", "box joined", "breakdown", "broken down, to the twin", "cancelled", "caused earlier",
	"counted at shift end", "counted too many",
	"counter reset", "ended in the night", "first piece refused", "first piece refused twice",
	"forgotten finish", "forgotten restart",
	"forgotten set-up", "forgotten start", "forgotten stop", "found stopped in the morning", "held",
	"hot job", "late station", "missing piece",
	"night running", "not scanned at all", "on the floor before the first scan", "one more from the bar",
	"operation added",
	"outside in two deliveries", "outside one short", "part delivery",
	"ran before the first piece was accepted", "reads", "set-up piece", "bad fixture", "review: concession",
	"review: good", "review: rework", "review: scrap", "rework", "sent ahead", "slip taken back", "split box",
	"superseded drawing",
	"works order typed", "waits for a reason", "wrong card", "wrong clock",
}

// Six weeks find what is true; with TALLYWALK_LONG a year does, twice, and holds
// every muddle and enough batches of both routes.
func TestFiguresFindTheTruth(t *testing.T) {
	t.Parallel()
	if os.Getenv("TALLYWALK_LONG") == "" {
		s, hs := simulatedHouse(t, 1, 6)
		learn(t, s, hs).check(t, 2, 1)
		return
	}
	for _, seed := range []uint64{1, 2} {
		s, hs := simulatedHouse(t, seed, Weeks)
		checkHistory(t, s, hs)
		for _, m := range muddles {
			if s.tries[m] == 0 {
				t.Errorf("seed %d: no muddle %q in a year", seed, m)
			}
		}
		if s.counts.batches < 1200 || s.counts.scans < 50000 {
			t.Errorf("seed %d: %+v", seed, s.counts)
		}
		learn(t, s, hs).check(t, 25, 12)
		inTheRecord(t, hs)
	}
}

// routeOp is an operation of a route revision.
type routeOp struct {
	traveler.RouteKey
	op traveler.Op
}

// learned is what the facts say of an operation.
type learned struct {
	clampings, in, moved int
	cycles, setups       []float64 // actual over planned, a batch each
}

type lessons struct {
	ops     map[routeOp]*learned
	batches map[traveler.RouteKey]int
}

// learn reads the figures from the facts, as a page would; what was part way when the
// history began lost nothing before.
func learn(t *testing.T, s *Sim, hs *House) *lessons {
	t.Helper()
	l := &lessons{map[routeOp]*learned{}, map[traveler.RouteKey]int{}}
	if err := hs.Desk.Facts(story.FactQuery{}, func(b *story.BatchFact) bool {
		if b.State == story.StateDone && !b.Released.Before(s.from) {
			l.add(b)
		}
		return true
	}); err != nil {
		t.Fatal(err)
	}
	return l
}

func (l *lessons) add(b *story.BatchFact) {
	key := traveler.RouteKey{Part: b.Part, Rev: b.Rev}
	l.batches[key]++
	for i := range b.Ops {
		o := &b.Ops[i]
		k := routeOp{key, o.Operation}
		if l.ops[k] == nil {
			l.ops[k] = &learned{clampings: o.Clampings}
		}
		x := l.ops[k]
		x.in += o.In
		if o.Clampings > 0 && !o.Inferred && o.Made > 0 {
			x.cycles = append(x.cycles, float64(o.Run)/float64(o.Made)/float64(o.PlanPiece))
			if o.Setups == 1 {
				x.setups = append(x.setups, float64(o.Setup)/float64(o.PlanSetup))
			}
		}
	}
	for i := range b.Visits {
		for _, loss := range b.Visits[i].Losses {
			if x := l.ops[routeOp{key, loss.Caused}]; x != nil && loss.Outcome == "scrap" &&
				loss.Reason == "position" {
				x.moved += loss.N
			}
		}
	}
}

// check holds the figures against the truth constants.
func (l *lessons) check(t *testing.T, old, now int) {
	t.Helper()
	if n := l.batches[traveler.RouteKey{Part: partTwoRoutes, Rev: revManySetups}]; n < old {
		t.Errorf("%d batches of the old route", n)
	}
	if n := l.batches[traveler.RouteKey{Part: partTwoRoutes, Rev: revOneSetup}]; n < now {
		t.Errorf("%d batches of the new route", n)
	}
	var many, one, clamped, lost, lostOne float64
	for k, x := range l.ops {
		if x.clampings == 0 {
			continue
		}
		if k.isOne() {
			one, lostOne = one+float64(x.in), lostOne+float64(x.moved)
		} else {
			many, lost = many+float64(x.in), lost+float64(x.moved)
			clamped += float64(x.in * x.clampings)
		}
		truth := cycleFactor(k.Part, k.op)
		near(t, k, "cycle", x.cycles, truth, trueCycleSpread)
		near(t, k, "set-up", x.setups, TrueSetup*math.Exp(-trueSetupSpread*trueSetupSpread/2),
			trueSetupSpread)
	}
	within(t, "per clamping", lost/clamped, trueLossPerClamping, clamped)
	within(t, "in one set-up", lostOne/one, trueLossInOne, one)
}

func (k routeOp) isOne() bool {
	return isOne[k]
}

// near checks the median of many batches. The standard error of the median of a
// lognormal sample is about 1.2533 spreads by the root of n (from memory); a
// few per cent are what people take to finish a batch after its last piece.
func near(t *testing.T, k routeOp, what string, got []float64, truth, spread float64) {
	t.Helper()
	if len(got) < 6 {
		return
	}
	slices.Sort(got)
	m := got[len(got)/2]
	if d := 5*1.2533*spread/math.Sqrt(float64(len(got))) + 0.04; math.Abs(m/truth-1) > d {
		t.Errorf("%v: %s is %.3f of the plan in %d batches; %.3f is true, give or take %.0f %%", k, what, m,
			len(got), truth, 100*d)
	}
}

// within checks a share of pieces: four standard errors of a binomial share, and
// a tenth for what was never said.
func within(t *testing.T, what string, got, truth, n float64) {
	t.Helper()
	if d := 4*math.Sqrt(truth*(1-truth)/n) + truth/10; n == 0 || math.Abs(got-truth) > d {
		t.Errorf("lost %s: %.5f of %.0f; %.5f is true, give or take %.5f", what, got, n, truth, d)
	}
}

// inTheRecord looks for the muddles in what was scanned, not in what was meant.
func inTheRecord(t *testing.T, hs *House) {
	t.Helper()
	seen := map[string]int{}
	if err := hs.Desk.Entries(1, func(e *traveler.Entry) bool {
		if e.Scan != nil {
			spot(seen, e)
		}
		return true
	}); err != nil {
		t.Fatal(err)
	}
	for _, what := range []string{
		"late", "happened", "reads", "anyway", "refused", "undo", "correct", "split", "join", "cancel",
		"added", "drawing", "concession",
		"typed", "rework", "held", "hot", "breakdown", "wrong clock", "stale clock", "in part", "missing",
		"caused elsewhere", "question",
	} {
		if seen[what] == 0 {
			t.Errorf("nothing in the record is %q", what)
		}
	}
}

func spot(seen map[string]int, e *traveler.Entry) {
	s := e.Scan
	_, typed := traveler.ParseCode(s.Card)
	for what, so := range map[string]bool{
		"late": !s.IsPresent(), "happened": s.Happened != nil, "reads": s.Reads != nil, "anyway": s.Anyway,
		"refused":  e.Outcome == traveler.Refused,
		"question": e.Outcome == traveler.Questioned || s.Action == traveler.ActDecide && s.For != "",
		"undo":     s.Action == traveler.ActUndo, "correct": s.Action == traveler.ActCorrect,
		"split": s.Action == traveler.ActSplit,
		"join":  s.Action == traveler.ActJoin, "cancel": s.Action == traveler.ActCancel,
		"added": s.For == story.OverrideAdd, "drawing": s.For == story.ForDrawing,
		"concession": s.Reason == "concession",
		"typed":      !typed, "rework": s.Action == traveler.ActFinish && s.For != "",
		"held": s.Action == traveler.ActHold,
		"hot":  s.Reason == "hot", "breakdown": s.Reason == "breakdown",
		"wrong clock": s.OffsetMS < -3_600_000,
		"stale clock": s.WithinMS > 3_600_000,
		"in part":     s.Action == traveler.ActDeliver && s.Pieces > 0 || s.Action == traveler.ActReceive,
		"missing":     s.Missing != nil, "caused elsewhere": len(s.Scrap) > 0 && s.Scrap[0].CausedAt != 0,
	} {
		if so {
			seen[what]++
		}
	}
}

// isOne are the operations whose second spindle takes the piece over.
var isOne = func() map[routeOp]bool {
	out := map[routeOp]bool{}
	for _, r := range append(routes(), adapterOneSetup()) {
		for _, o := range r.Operations {
			if o.WorkCentre == wcTurnMill {
				out[routeOp{traveler.RouteKey{Part: r.Part, Rev: r.Rev}, o.Number}] = true
			}
		}
	}
	return out
}()
