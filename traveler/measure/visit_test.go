package measure_test

import (
	"fmt"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

var eight = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// story is of a batch of fifty that is released at eight and turned on L1; each
// step is an action so many minutes after eight.
func storyOf(steps ...step) *story.Family {
	code, _ := traveler.NewCode(traveler.KindBatch, 3)
	shop := new(traveler.Shop).With(&traveler.Change{From: eight,
		Machines: []traveler.Machine{{ID: "L1", WorkCentre: "TURN"}, {ID: "M2", WorkCentre: "MILL"}},
		Routes: []traveler.Route{{
			Part: "P", Rev: "A",
			Operations: []traveler.Operation{{Number: 10, WorkCentre: "TURN", PiecesPerCycle: 1},
				{Number: 20, WorkCentre: "MILL", PiecesPerCycle: 1}},
		}}})
	f := story.Fold(shop,
		[]*traveler.Entry{
			{Seq: 1, Arrived: eight, Card: code,
				Release: &traveler.Release{Part: "P", RouteRev: "A", Pieces: 50}}})
	for i, s := range steps {
		at := eight.Add(time.Duration(s.min) * time.Minute)
		scan := &traveler.Scan{ID: traveler.ScanID(fmt.Sprintf("00000000-0000-7000-8000-%012d", i)), At: at,
			Action: s.act}
		f, _ = f.Add(shop, &traveler.Entry{
			Seq: traveler.Seq(i + 2), Arrived: at, Card: code, Machine: s.at, Scan: scan,
			By: traveler.Actor{Name: "a", Role: traveler.RoleOperator},
		})
	}
	return f
}

func meter(now time.Time) *measure.Meter {
	return &measure.Meter{Shop: &traveler.Shop{}, Floors: &ground.Floors{}, Now: now}
}

type step struct {
	min int
	at  traveler.MachineID
	act traveler.Action
}

// A visit with a scanned arrival: 5 minutes on the way, 15 in the queue, 30
// setting, 60 running, 10 stopped, 20 running.
func ExampleMeter_Visit() {
	f := storyOf(step{5, "L1", traveler.ActArrive}, step{20, "L1", traveler.ActSetup},
		step{50, "L1", traveler.ActRun},
		step{110, "L1", traveler.ActStop}, step{120, "L1", traveler.ActRun},
		step{140, "L1", traveler.ActFinish})
	t := meter(eight.Add(5*time.Hour)).Visit(f, 0).Parts
	fmt.Println("transport", t.Transport, "queue", t.Queue, "set-up", t.Setup, "run", t.Run, "stop", t.Stop)
	// Output: transport 5m0s queue 15m0s set-up 30m0s run 1h20m0s stop 10m0s
}

// ISO 22400-2 as quoted in public: order execution time = busy time + transport
// + queue (AOET = AUBT + ATT + AQT), with AUBT = AUPT + ADET and AUPT = APT +
// AUST, when nothing overlaps. The wait for the first-off stands apart.
func TestPartsAddUpToTheVisit(t *testing.T) {
	f := storyOf(step{7, "L1", traveler.ActArrive}, step{9, "L1", traveler.ActSetup},
		step{31, "L1", traveler.ActFirstOff},
		step{44, "L1", traveler.ActRun}, step{95, "L1", traveler.ActStop}, step{101, "L1", traveler.ActRun},
		step{160, "L1", traveler.ActFinish},
		step{171, "M2", traveler.ActArrive}, step{200, "M2", traveler.ActRun},
		step{260, "M2", traveler.ActFinish})
	total := time.Duration(0)
	for i := range f.Visits {
		v := meter(eight.Add(9*time.Hour)).Visit(f, i).Parts
		total += v.Transport + v.Queue + v.Setup + v.FirstOff + v.Run + v.Stop
	}
	if total != 260*time.Minute {
		t.Errorf("the parts are %v, release to end is 260 min", total)
	}
}

// Without a scanned arrival the way and the queue are one figure; what still
// lasts goes up to now.
func TestBetweenAndOpenVisits(t *testing.T) {
	f := storyOf(step{0, "L1", traveler.ActRun}, step{60, "L1", traveler.ActFinish},
		step{90, "M2", traveler.ActSetup})
	v := meter(eight.Add(100*time.Minute)).Visit(f, 1)
	if p := v.Parts; !v.NoArrival || p.Between != 30*time.Minute || p.Transport != 0 || p.Queue != 0 ||
		p.Setup != 10*time.Minute {
		t.Errorf("%+v", v)
	}
}
