package desk

import (
	"errors"
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

func TestReleaseGivesCards(t *testing.T) {
	r := newRig(t, store.NewMem())
	due := time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC)
	mine, _ := traveler.NewCode(traveler.KindBatch, 12345)
	rs := []traveler.Release{
		{ID: r.id(), Part: "bracket", RouteRev: "1", Pieces: 50, Due: due, WorksOrder: "W1",
			MaterialLots: []string{"heat 7"}},
		{ID: r.id(), Part: "flange", RouteRev: "1", Pieces: 20, Wanted: 18},
	}
	a, err := r.desk.Release(ctx, supervisor, rs, []traveler.Code{"", mine})
	r.must(err)
	if a[1].Card != mine || a[0].Card == "" || a[0].Again || a[0].Outcome != traveler.Kept ||
		a[1].Seq != a[0].Seq+1 {
		t.Fatalf("%+v", a)
	}
	b := a[0].Family.Batches[0]
	if b.Wanted != 50 || !b.Due.Equal(due) || b.Order != "W1" || a[1].Family.Batches[0].Wanted != 18 {
		t.Errorf("%+v", b)
	}
	e, err := r.log.Get([]traveler.Seq{a[0].Seq})
	r.must(err)
	if e[0].Rules != story.Rules || e[0].By != supervisor {
		t.Errorf("%+v", e[0])
	}
	for range 2 {
		again, err := r.desk.Release(ctx, supervisor, rs, nil)
		r.must(err)
		for i := range again {
			if !again[i].Again || again[i].Card != a[i].Card || again[i].Seq != a[i].Seq ||
				again[i].Family == nil {
				t.Errorf("again: %+v", again[i])
			}
		}
		r.reopen()
	}
	rs[1].Pieces++
	_, err = r.desk.Release(ctx, supervisor, rs[1:], nil)
	if traveler.KindOf(err) != traveler.KindConflict {
		t.Errorf("another body under the same id: %v", err)
	}
}

func TestReleaseTwiceInOneList(t *testing.T) {
	r := newRig(t, store.NewMem())
	one := traveler.Release{ID: r.id(), Part: "bracket", RouteRev: "1", Pieces: 5}
	a, err := r.desk.Release(ctx, supervisor, []traveler.Release{one, one}, nil)
	r.must(err)
	if a[0].Again || !a[1].Again || a[0].Card != a[1].Card || a[0].Seq != a[1].Seq {
		t.Errorf("%+v", a)
	}
}

func TestReleaseAllOrNone(t *testing.T) {
	r := newRig(t, store.NewMem())
	taken := r.release("bracket", "", 5)
	machine := r.desk.Shop().Machines(r.hand.now())[0].Code
	free, _ := traveler.NewCode(traveler.KindBatch, 7)
	before, _ := r.desk.Head()
	fine := func() traveler.Release {
		return traveler.Release{ID: r.id(), Part: "bracket", RouteRev: "1", Pieces: 5}
	}
	for name, c := range map[string]struct {
		field string
		spoil func(*traveler.Release)
		cards []traveler.Code
	}{
		"no id":        {"id", func(x *traveler.Release) { x.ID = "" }, nil},
		"no such part": {"route_rev", func(x *traveler.Release) { x.Part = "gear" }, nil},
		"no such rev":  {"route_rev", func(x *traveler.Release) { x.RouteRev = "9" }, nil},
		"no pieces":    {"pieces", func(x *traveler.Release) { x.Pieces = 0 }, nil},
		"too many":     {"pieces", func(x *traveler.Release) { x.Pieces = traveler.MaxPieces + 1 }, nil},
		"wanted":       {"wanted", func(x *traveler.Release) { x.Wanted = -1 }, nil},
		"priority":     {"priority", func(x *traveler.Release) { x.Priority = 1 << 40 }, nil},
		"due": {"due",
			func(x *traveler.Release) { x.Due = time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC) }, nil},
		"released": {"released",
			func(x *traveler.Release) { x.Released = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC) }, nil},
		"text": {"customer", func(x *traveler.Release) { x.Customer = "a\x00b" }, nil},
		"lot": {"material_lots", func(x *traveler.Release) { x.MaterialLots = []string{"\xff"} },
			nil},
		"lots": {"material_lots", func(x *traveler.Release) { x.MaterialLots = make([]string, 1000) },
			nil},
		"card in use":  {"card", func(*traveler.Release) {}, []traveler.Code{"", taken}},
		"twice":        {"card", func(*traveler.Release) {}, []traveler.Code{free, free}},
		"no card":      {"card", func(*traveler.Release) {}, []traveler.Code{"", "B1"}},
		"small letter": {"card", func(*traveler.Release) {}, []traveler.Code{"", "b" + free[1:]}},
		"a machine":    {"card", func(*traveler.Release) {}, []traveler.Code{"", machine}},
	} {
		bad := fine()
		c.spoil(&bad)
		_, err := r.desk.Release(ctx, supervisor, []traveler.Release{fine(), bad}, c.cards)
		var e *traveler.Error
		if !errors.As(err, &e) || e.Kind != traveler.KindInvalid || e.Field != c.field {
			t.Errorf("%s: %v", name, err)
		}
	}
	if after, _ := r.desk.Head(); after != before {
		t.Errorf("%d entries were kept", after-before)
	}
	a, err := r.desk.Release(ctx, supervisor, []traveler.Release{fine()}, []traveler.Code{free})
	r.must(err)
	if a[0].Card != free {
		t.Errorf("a card that a refused list named is %s now", a[0].Card)
	}
}

func TestUsedRouteNeverChanges(t *testing.T) {
	r := newRig(t, store.NewMem())
	other := storetest.Route("bracket", "1")
	other.Operations[0].CycleMin = 1
	// Nobody has used it yet.
	r.must(r.desk.Change(ctx, supervisor, &traveler.Change{Routes: []traveler.Route{other}}))
	r.release("bracket", "", 5)
	head, _ := r.desk.Head()
	for range 2 {
		err := r.desk.Change(ctx, supervisor,
			&traveler.Change{
				Routes: []traveler.Route{storetest.Route("bracket", "2"), storetest.Route("bracket", "1")}})
		var e *traveler.Error
		if !errors.As(err, &e) || e.Kind != traveler.KindConflict || e.Say.Args[0] != "bracket" ||
			e.Say.Args[1] != "1" {
			t.Fatalf("%v", err)
		}
		if _, ok := r.desk.Shop().Route("bracket", "2"); ok {
			t.Error("half of a refused change holds")
		}
		r.must(r.desk.Change(ctx, supervisor, &traveler.Change{Routes: []traveler.Route{other}}))
		if now, _ := r.desk.Head(); now != head {
			t.Errorf("what is there already was kept again")
		}
		r.reopen()
	}
	r.log = forgetful{r.log}
	r.reopen()
	if err := r.desk.Change(ctx, supervisor,
		&traveler.Change{Routes: []traveler.Route{storetest.Route("bracket", "1")}}); traveler.KindOf(
		err) != traveler.KindConflict {
		t.Errorf("after a replay of everything: %v", err)
	}
}

func TestMachinesKeepTheirCodes(t *testing.T) {
	r := newRig(t, store.NewMem())
	code := func(id traveler.MachineID) traveler.Code {
		m, _ := r.desk.Shop().Machine(id, r.hand.now())
		if c, ok := traveler.ParseCode(string(m.Code)); !ok || c.Kind() != traveler.KindMachine {
			t.Fatalf("%s has the code %q", id, m.Code)
		}
		return m.Code
	}
	old := code("L1")
	head, _ := r.desk.Head()
	r.must(r.desk.Change(ctx, supervisor, &traveler.Change{Machines: storetest.Shop().Machines}))
	if now, _ := r.desk.Head(); now != head {
		t.Error("machines that stand where they stood were kept again")
	}
	moved := storetest.Shop().Machines[0]
	moved.X = 99
	r.must(r.desk.Change(ctx, supervisor, &traveler.Change{Machines: []traveler.Machine{moved}}))
	if code("L1") != old {
		t.Error("a machine that moved has another code")
	}
	for name, m := range map[string]traveler.Machine{
		"taken":    {ID: "L7", Code: old},
		"no code":  {ID: "L7", Code: "M1"},
		"a batch":  {ID: "L7", Code: r.release("bracket", "", 1)},
		"no name":  {},
		"control":  {ID: "L\x07"},
		"far away": {ID: "L7", X: 1e300},
	} {
		if err := r.desk.Change(ctx, supervisor,
			&traveler.Change{Machines: []traveler.Machine{m}}); traveler.KindOf(err) != traveler.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestNewDrawingStopsOpenBatches checks that a change reaches families that are
// on the floor, and that sending the older drawing again counts as news.
func TestNewDrawingStopsOpenBatches(t *testing.T) {
	r := newRig(t, store.NewMem())
	card := string(r.release("bracket", "", 5))
	next := storetest.Route("bracket", "2")
	next.DrawingRev = "B"
	r.hand.pass(time.Minute)
	r.must(r.desk.Change(ctx, supervisor, &traveler.Change{Routes: []traveler.Route{next}}))
	r.is(r.one(worker, r.scan("L1", card, traveler.ActSetup)), traveler.Refused, "drawing.superseded")
	r.hand.pass(time.Minute)
	r.must(r.desk.Change(ctx, supervisor,
		&traveler.Change{Routes: []traveler.Route{next, storetest.Route("bracket", "1")}}))
	r.kept(worker, r.scan("L1", card, traveler.ActSetup))
	r.hand.pass(time.Minute)
	r.must(r.desk.Change(ctx, supervisor, &traveler.Change{Routes: []traveler.Route{next}}))
	if _, yes := r.desk.Shop().Superseded("bracket", "A", r.hand.now()); !yes {
		t.Error("leaving the older drawing out did not take it out of force")
	}
}

func TestChangeReachesBackToWhatIsKnown(t *testing.T) {
	r := newRig(t, store.NewMem())
	start := r.hand.pass(time.Minute)
	card := r.release("bracket", "", 5)
	r.work("L1", card, 5)
	r.kept(worker, r.scan("M1", string(card), traveler.ActSetup))
	walk := func() float64 {
		m := r.desk.meter(r.desk.Shop(), r.hand.now()).Batch(r.family(card), 0)
		return m.Metres
	}
	before := walk()
	moved := storetest.Shop().Machines[2]
	moved.X += 50
	r.must(r.desk.Change(ctx, supervisor, &traveler.Change{From: start, Machines: []traveler.Machine{moved}}))
	if after := walk(); after != before+50 {
		t.Errorf("the walk was %v m and is %v m", before, after)
	}
	live := r.dump()
	r.reopen()
	same(t, "opened again", r.dump(), live)
}
