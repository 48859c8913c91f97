package kiosk_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"tallywalk/kiosk"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// likelyStep names the likely step as a test writes it: its key, then what it
// is aimed at.
func likelyStep(s kiosk.Station) string {
	var out []string
	for _, x := range s.Steps {
		if !x.Likely {
			continue
		}
		w := x.Key
		if len(x.Args) > 0 {
			w += "(" + strings.Join(x.Args, ",") + ")"
		}
		if x.Needs != "" {
			w += " needs " + string(x.Needs)
		}
		out = append(out, w)
	}
	return strings.Join(out, " AND ")
}

// The likely steps are derived from the rules of the floor; no source outside.
func TestLikelyStep(t *testing.T) {
	op10 := []string{"L1 setup", "L1 firstoff", "L1 firstoff good=1", "L1 run"}
	done10 := append(slices.Clone(op10), "L1 finish good=49")
	done20 := append(slices.Clone(done10), "M1 run", "M1 finish good=50")
	back30 := append(slices.Clone(done20), "M1 send op=30", "M1 receive op=30")
	done40 := append(slices.Clone(back30), "L2 setup", "L2 run", "L2 finish good=50")
	for name, c := range map[string]struct {
		scans   []string
		machine string
		want    string
		also    []string // keys among the others
	}{
		"new at its machine": {nil, "L1", "setup",
			[]string{"arrive", "run", "wait", "count", "split", "hold", "move"}},
		"new at a wrong machine": {nil, "M1", "move.planned(10,LATHE) needs place",
			[]string{"run.anyway", "setup.anyway", "arrive"}},
		"new at inspection": {nil, "Q1", "move.here", []string{"move.to"}},
		"arrived":           {[]string{"L1 arrive"}, "L1", "setup", []string{"run", "wait"}},
		"setting": {[]string{"L1 setup"}, "L1", "firstoff",
			[]string{"run", "stop", "count.setup"}},
		"first-off waits": {op10[:2], "L1", "verdict needs verdict",
			[]string{"setup.again", "run"}},
		"first-off waits at inspection": {op10[:2], "Q1", "verdict needs verdict", nil},
		"first-off refused": {[]string{"L1 setup", "L1 firstoff", "L1 firstoff scrap=1"}, "L1",
			"firstoff", []string{"run"}},
		"first-off accepted": {op10[:3], "L1", "run", nil},
		"running": {op10, "L1", "count needs counts",
			[]string{"finish", "stop", "setup.again"}},
		"running, all counted": {append(slices.Clone(op10), "L1 count good=49"), "L1",
			"finish.all(50)", []string{"count"}},
		"stopped": {append(slices.Clone(op10), "L1 stop reason=tool"), "L1", "run.on",
			[]string{"stop.why", "count", "finish"}},
		"over here, meets it again later": {done10, "L1", "move.to(MILL)", []string{"wait", "setup"}},
		"over here, seen from its twin":   {done10, "L2", "move.to(MILL)", []string{"setup"}},
		"next without planned set-up":     {done10, "M1", "run", []string{"setup", "arrive"}},
		"next is outside":                 {done20, "M1", "send(30)", []string{"send.part"}},
		"outside":                         {done20[:len(done20):len(done20)], "S1", "send(30)", nil},
		"is out": {append(slices.Clone(done20), "M1 send op=30"), "M1",
			"receive needs counts", nil},
		"is out, asked elsewhere": {append(slices.Clone(done20), "M1 send op=30"), "D1",
			"receive needs counts", nil},
		"second time at the lathe":       {back30, "L1", "setup", nil},
		"all done, still at the machine": {done40, "L2", "move.to(Dock)", []string{"deliver"}},
		"all done, at the dock":          {done40, "D1", "deliver(50)", []string{"deliver.part"}},
		"delivered": {append(slices.Clone(done40), "D1 deliver"), "D1",
			"move needs place", nil},
		"held":               {[]string{"L1 hold reason=crack"}, "L1", "move needs place", []string{"free"}},
		"held at inspection": {[]string{"L1 hold reason=crack"}, "Q1", "free", nil},
		"held while it runs": {append(slices.Clone(op10), "Q1 hold reason=crack"), "L1",
			"stop needs reason:stop", []string{"free", "count"}},
		"forgotten here, seen further on": {append(slices.Clone(op10), "M1 arrive"), "L1",
			"finish needs counts",
			[]string{"run.on", "count", "setup.again", "move.to"}},
		"forgotten here, here again": {
			append(slices.Clone(op10), "M1 run", "M1 finish good=50", "M1 send op=30", "M1 receive op=30"),
			"L1", "setup", []string{"run", "arrive"}},
		"rework waits for this machine": {append(slices.Clone(op10), "L1 finish good=47 rework=2"), "L1",
			"rework.run(10)", []string{"move.to", "rework.setup"}},
		"rework goes on": {
			append(slices.Clone(op10), "L1 finish good=47 rework=2", "L1 run for=10 op=10"), "L1",
			"count needs counts", []string{"finish"}},
		"review at inspection": {append(slices.Clone(op10), "L1 finish good=47 review=2"), "Q1",
			"decide(10) needs counts", []string{"concession"}},
		"put away in stores": {append(slices.Clone(done10), "S1 move to=S1"), "S1", "move.to(MILL)", nil},
	} {
		t.Run(name, func(t *testing.T) {
			fl := newFloor(t)
			fl.say(c.scans...)
			s := kiosk.Look(fl.shop, fl.f, 0, traveler.MachineID(c.machine), traveler.RoleSupervisor, false,
				fl.now.Add(time.Minute))
			if got := likelyStep(s); got != c.want {
				t.Errorf("likely %q, want %q; steps %+v", got, c.want, s.Steps)
			}
			for _, key := range c.also {
				if !slices.ContainsFunc(s.Steps,
					func(x kiosk.Step) bool { return x.Key == key && !x.Likely }) {
					t.Errorf("step %q is not among the others: %+v", key, s.Steps)
				}
			}
			sound(t, s)
		})
	}
}

// sound checks what holds of every view.
func sound(t *testing.T, s kiosk.Station) {
	t.Helper()
	likely := 0
	for i, x := range s.Steps {
		if x.Likely {
			likely++
		}
		if x.Word == "" || strings.Contains(x.Word, "{") {
			t.Errorf("step %d has the word %q", i, x.Word)
		}
		if x.Code != kiosk.ActionCode(x.Action) || x.Code == "" {
			t.Errorf("step %q has the code %q", x.Key, x.Code)
		}
	}
	if likely > 1 || (likely == 0 && len(s.Steps) > 0 && !waitsForInspector(s)) {
		t.Errorf("%d likely steps of %d", likely, len(s.Steps))
	}
	if s.Left < 0 || s.SpentS < 0 || s.PlanS < 0 {
		t.Errorf("negative: left %d, spent %g, plan %g", s.Left, s.SpentS, s.PlanS)
	}
	if _, err := json.Marshal(s); err != nil {
		t.Error(err)
	}
}

// waitsForInspector reports whether the next step is someone else's.
func waitsForInspector(s kiosk.Station) bool {
	return s.FirstOff.State == "waiting" || len(s.Others) > 0
}

func TestLookNumbers(t *testing.T) {
	fl := newFloor(t)
	fl.say("L1 setup", "30 L1 firstoff", "5 L1 firstoff good=1", "1 L1 run", "20 L1 stop reason=tool",
		"10 L1 run", "10 L1 count good=20 scrap=2")
	s := kiosk.Look(fl.shop, fl.f, 0, "L1", traveler.RoleSupervisor, false, fl.now.Add(time.Minute))
	if s.Good != 21 || s.Scrap != 2 || s.Left != 27 || s.Of != 50 {
		t.Errorf("good %d scrap %d left %d of %d; want 21, 2, 27, 50", s.Good, s.Scrap, s.Left, s.Of)
	}
	// 20 minutes before the stop, 11 after it; 50 pieces at 2 minutes.
	if s.SpentS != 31*60 || s.PlanS != 100*60 {
		t.Errorf("spent %g of %g s; want 1860 of 6000", s.SpentS, s.PlanS)
	}
	if s.VisitState != story.VisitRunning || s.FirstOff.State != "accepted" || !s.FirstOff.Wanted ||
		s.Before != nil {
		t.Errorf("state %s, first-off %+v, before %+v", s.VisitState, s.FirstOff, s.Before)
	}
	if s.Undo == nil || s.Undo.Action != traveler.ActCount || !s.Undo.Until.Equal(fl.now.Add(2*time.Minute)) {
		t.Errorf("undo %+v", s.Undo)
	}
	if s.Due != "2026-03-11" || s.WorksOrder != "WO-7" || s.PartName != "Drive shaft" ||
		s.MachineName != "Lathe 1" {
		t.Errorf("head %+v", s)
	}
	if late := kiosk.Look(fl.shop, fl.f, 0, "L1", traveler.RoleSupervisor, false,
		fl.now.Add(3*time.Minute)); late.Undo != nil {
		t.Errorf("after three minutes undo %+v", late.Undo)
	}
	m := kiosk.Look(fl.shop, fl.f, 0, "M1", traveler.RoleSupervisor, false, fl.now)
	if m.Before == nil || m.Before.Operation != 10 || m.Before.Good != 21 || m.Before.Closed || m.Left != 48 {
		t.Errorf("at the mill: before %+v, left %d; want 21 of operation 10, open, and 48 left", m.Before,
			m.Left)
	}
}

func TestLookHints(t *testing.T) {
	fl := newFloor(t)
	s := kiosk.Look(fl.shop, fl.f, 0, "M1", traveler.RoleSupervisor, false, fl.now)
	if want := "Operation 20 comes after operation 10, which has not been booked. Was it done, or are you doing 20 first?"; s.WrongOrder != want || s.WrongMachine != "" {
		t.Errorf("order %q, machine %q", s.WrongOrder, s.WrongMachine)
	}
	s = kiosk.Look(fl.shop, fl.f, 0, "Q1", traveler.RoleSupervisor, false, fl.now)
	if want := "Operation 10 is planned on LATHE; this is Q1. Run it here?"; s.WrongMachine != want ||
		s.WrongOrder != "" {
		t.Errorf("machine %q, order %q", s.WrongMachine, s.WrongOrder)
	}
	if s := kiosk.Look(fl.shop, fl.f, 0, "L2", traveler.RoleSupervisor, false, fl.now); s.WrongMachine+
		s.WrongOrder != "" {
		t.Errorf("at the right machine: %q %q", s.WrongMachine, s.WrongOrder)
	}
}

func TestLookBlocked(t *testing.T) {
	for name, c := range map[string]struct {
		scans  []string
		kind   string
		why    string
		likely string
	}{
		"held":      {[]string{"L1 hold reason=crack"}, "held", "is held: crack", "move needs place"},
		"cancelled": {[]string{"L1 setup", "L1 cancel"}, "cancelled", "is cancelled", ""},
		"joined": {[]string{"L1 split pieces=10 card=500", "L1 join of=500"}, "joined",
			"was joined to", ""},
		"drawing": {nil, "drawing", "has changed from B to C", "wait needs reason:wait"},
		"drawing, it runs": {[]string{"L1 setup", "L1 run"}, "drawing", "has changed from B to C",
			"stop needs reason:stop"},
		"drawing, stopped": {[]string{"L1 setup", "L1 run", "L1 stop reason=tool"}, "drawing", "has changed",
			"finish needs counts"},
		"drawing, it's out": {[]string{"L1 finish good=50", "M1 finish good=50", "M1 send op=30"}, "drawing",
			"has changed", "receive needs counts"},
	} {
		t.Run(name, func(t *testing.T) {
			fl := newFloor(t)
			fl.say(c.scans...)
			batch, machine := 0, traveler.MachineID("L1")
			if name == "joined" {
				batch = 1
			}
			if name == "drawing, it's out" {
				machine = "M1"
			}
			if c.kind == "drawing" {
				fl.supersede()
			}
			s := kiosk.Look(fl.shop, fl.f, batch, machine, traveler.RoleSupervisor, false, fl.now)
			if s.Blocked != c.kind || !strings.Contains(s.Why, c.why) || likelyStep(s) != c.likely {
				t.Errorf("blocked %q, why %q, likely %q", s.Blocked, s.Why, likelyStep(s))
			}
			sound(t, s)
		})
	}
}

func TestLookSupersededLeftToDecide(t *testing.T) {
	fl := newFloor(t)
	fl.supersede()
	fl.say("L1 decide for=drawing reason=use")
	if s := kiosk.Look(fl.shop, fl.f, 0, "L1", traveler.RoleSupervisor, false, fl.now); s.Blocked != "" ||
		likelyStep(s) != "setup" {
		t.Errorf("after the decision: blocked %q, likely %q", s.Blocked, likelyStep(s))
	}
}

func TestLookFamily(t *testing.T) {
	fl := newFloor(t)
	fl.say("L1 split pieces=10 card=500")
	s := kiosk.Look(fl.shop, fl.f, 0, "L1", traveler.RoleSupervisor, false, fl.now)
	if len(s.Siblings) != 1 ||
		s.Siblings[0] != (kiosk.Sibling{Card: code(traveler.KindBatch, 500), Pieces: 10}) {
		t.Errorf("siblings %+v", s.Siblings)
	}
	if !slices.ContainsFunc(s.Steps, func(x kiosk.Step) bool { return x.Needs == kiosk.NeedSibling }) {
		t.Errorf("no step to join: %+v", s.Steps)
	}
	if child := kiosk.Look(fl.shop, fl.f, 1, "L1", traveler.RoleSupervisor, false,
		fl.now); child.Started != 10 || child.Left != 10 || likelyStep(child) != "setup" {
		t.Errorf("child %+v", child)
	}
}

// TestStepsFit sends every step that needs nothing as it stands: none may be
// refused outright, since what a station offers must be possible, if only
// anyway.
func TestStepsFit(t *testing.T) {
	story := []string{
		"L1 setup", "L1 firstoff", "L1 firstoff good=1", "L1 run", "L1 stop reason=tool", "L1 run",
		"L1 finish good=45 rework=2 review=2",
		"L1 run for=10 op=10", "L1 finish good=2 for=10 op=10", "M1 run", "M1 finish good=47",
		"M1 send op=30", "M1 receive op=30",
		"L2 setup", "L2 run", "L2 finish good=47", "D1 move to=D1",
	}
	for n := range len(story) + 1 {
		fl := newFloor(t)
		fl.say(story[:n]...)
		for _, machine := range []traveler.MachineID{"L1", "L2", "M1", "Q1", "S1", "D1"} {
			for _, role := range []traveler.Role{traveler.RoleOperator, traveler.RoleInspector,
				traveler.RoleSupervisor} {
				for _, x := range kiosk.Look(fl.shop, fl.f, 0, machine, role, false, fl.now).Steps {
					if x.Needs == kiosk.NeedNothing {
						fl.fits(n, machine, role, x)
					}
				}
			}
		}
	}
}

func (fl *floor) fits(n int, machine traveler.MachineID, role traveler.Role, x kiosk.Step) {
	fl.t.Helper()
	s := &traveler.Scan{
		ID: "019527c0-0000-7000-9000-000000000001", At: fl.now.Add(time.Minute), Station: string(machine),
		Card:   string(fl.f.Batches[0].Card),
		Action: x.Action, Operation: x.Operation, Visit: x.Visit, Phase: x.Phase, For: x.For,
		Reason: x.Reason, To: string(x.To), Anyway: true,
	}
	e := &traveler.Entry{Seq: fl.seq + 1, Arrived: s.At, By: traveler.Actor{Name: "s", Role: role}, Scan: s,
		Card: fl.f.Batches[0].Card, Machine: machine}
	if fl.f.Add(fl.shop, e); e.Outcome != traveler.Kept {
		fl.t.Errorf("after %d scans, at %s, step %q is refused to %s: %s", n, machine, x.Key, role,
			e.Say.Text("en"))
	}
}
