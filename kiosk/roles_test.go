package kiosk_test

import (
	"slices"
	"testing"
	"time"

	"tallywalk/kiosk"
	"tallywalk/traveler"
)

func keysOf(s kiosk.Station) []string {
	var out []string
	for _, x := range s.Steps {
		out = append(out, x.Key)
	}
	return out
}

func noticesOf(s kiosk.Station) []string {
	var out []string
	for _, n := range s.Others {
		out = append(out, n.Key)
	}
	return out
}

// What an operator is offered, and what an inspector: nothing that would be
// refused for the role, and a word for what waits for someone else.
func TestStepsOfARole(t *testing.T) {
	refused := []string{"L1 setup", "L1 firstoff", "L1 firstoff scrap=1"}
	anyway := []string{"L1 setup", "L1 firstoff", "L1 run", "L1 firstoff scrap=1"}
	const op, insp = traveler.RoleOperator, traveler.RoleInspector
	for name, c := range map[string]struct {
		scans   []string
		machine string
		role    traveler.Role
		likely  string
		with    []string // keys that are there
		without []string // and that are not
		notices []string
	}{
		"first-off with inspection": {refused[:2], "L1", op, "",
			[]string{"setup.again", "stop", "run"}, []string{"verdict"}, nil},
		"the same for the inspector": {refused[:2], "L1", insp, "verdict needs verdict",
			[]string{"run"}, nil, nil},
		"the same, seen at inspection": {refused[:2], "Q1", op, "", nil, []string{"verdict"},
			[]string{"who.firstoff"}},
		"first-off refused": {refused, "L1", op, "firstoff",
			[]string{"setup.again", "finish"}, []string{"run", "run.on"}, nil},
		"first-off refused, inspector": {refused, "L1", insp, "firstoff", []string{"run"}, nil, nil},
		"refused at the twin": {refused, "L2", op, "setup", []string{"setup", "arrive"},
			[]string{"run"}, nil},
		"refused while it ran": {anyway, "L1", op, "setup.again", []string{"firstoff", "stop"},
			[]string{"run", "run.on"}, nil},
		"refused, stopped": {append(slices.Clone(anyway), "L1 stop reason=tool"), "L1", op,
			"setup.again", []string{"firstoff"}, []string{"run.on"}, nil},
		"refused, another submitted": {append(slices.Clone(refused), "L1 firstoff"), "L1", op, "",
			nil, []string{"verdict"}, nil},
		"refused, then passed": {
			append(slices.Clone(refused), "L1 firstoff", "L1 firstoff good=1"), "L1", op, "run", nil, nil,
			nil},
		"held": {[]string{"L1 hold reason=crack"}, "L1", op, "move needs place",
			nil, []string{"free", "hold"}, []string{"who.free"}},
		"held, inspector": {[]string{"L1 hold reason=crack"}, "L1", insp,
			"move needs place", []string{"free"}, nil, nil},
		"pieces on hold, seen at inspection": {[]string{"L1 run", "L1 finish good=48 review=2"}, "Q1", op, "",
			nil, []string{"decide", "concession"}, []string{"who.review"}},
		"new":                 {nil, "L1", op, "setup", []string{"run", "split"}, []string{"hold"}, nil},
		"nobody who may scan": {nil, "L1", traveler.RolePlanner, "", nil, []string{"setup", "move"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			fl := newFloor(t)
			fl.say(c.scans...)
			s := kiosk.Look(fl.shop, fl.f, 0, traveler.MachineID(c.machine), c.role, false,
				fl.now.Add(time.Minute))
			keys := keysOf(s)
			if got := likelyStep(s); got != c.likely {
				t.Errorf("likely %q, want %q of %q", got, c.likely, keys)
			}
			for _, k := range c.with {
				if !slices.Contains(keys, k) {
					t.Errorf("%q is not offered: %q", k, keys)
				}
			}
			for _, k := range c.without {
				if slices.Contains(keys, k) {
					t.Errorf("%q is offered: %q", k, keys)
				}
			}
			if got := noticesOf(s); !slices.Equal(got, c.notices) {
				t.Errorf("notices %q, want %q", got, c.notices)
			}
		})
	}
}

// A superseded drawing is a supervisor's to decide.
func TestDrawingIsTheSupervisors(t *testing.T) {
	fl := newFloor(t)
	fl.supersede()
	for role, offered := range map[traveler.Role]bool{traveler.RoleOperator: false,
		traveler.RoleInspector: false, traveler.RoleSupervisor: true} {
		s := kiosk.Look(fl.shop, fl.f, 0, "L1", role, false, fl.now)
		if slices.Contains(keysOf(s), "drawing.use") != offered ||
			slices.Contains(noticesOf(s), "who.drawing") == offered {
			t.Errorf("%s: steps %q, notices %q", role, keysOf(s), noticesOf(s))
		}
	}
}

// A refused first-off says when and why.
func TestRefusedFirstOffSaysWhy(t *testing.T) {
	fl := newFloor(t)
	fl.say("L1 setup", "L1 firstoff", "L1 firstoff scrap=1")
	at := fl.now
	fl.say("3 L1 stop reason=tool")
	f := kiosk.Look(fl.shop, fl.f, 0, "L1", traveler.RoleOperator, false, fl.now).FirstOff
	if f.State != "refused" || f.At == nil || !f.At.Equal(at) || f.Kind != "scrap" || f.Reason != "size" {
		t.Errorf("%+v, want refused at %v for size", f, at)
	}
}

// Where every piece is counted, nobody begins: not at the twin that is done
// while the other is open, nor where the set-up or a stop is still on.
func TestAllCounted(t *testing.T) {
	both := []string{"L1 run", "L2 run", "L1 count good=20", "L1 finish good=27 scrap=3"}
	for name, c := range map[string]struct {
		scans           []string
		machine, likely string
	}{
		"its twin is still open": {both, "L1", "move.to(MILL)"},
		"the twin itself":        {both, "L2", "finish.all(0)"},
		"47 good and 3 scrap, running": {[]string{"L1 run", "L1 count good=20", "L1 count good=27 scrap=3"},
			"L1", "finish.all(47)"},
		"stopped": {[]string{"L1 run", "L1 count good=50", "L1 stop reason=tool"}, "L1",
			"finish.all(50)"},
		"being set up again": {[]string{"L1 run", "L1 count good=50", "L1 setup"}, "L1", "finish.all(50)"},
		"set up at the twin": {[]string{"L2 setup", "L1 run", "L1 finish good=50"}, "L2", "finish.all(0)"},
	} {
		t.Run(name, func(t *testing.T) {
			fl := newFloor(t)
			fl.say(c.scans...)
			s := kiosk.Look(fl.shop, fl.f, 0, traveler.MachineID(c.machine), traveler.RoleOperator, false,
				fl.now)
			if got := likelyStep(s); got != c.likely {
				t.Errorf("likely %q, want %q", got, c.likely)
			}
		})
	}
}
