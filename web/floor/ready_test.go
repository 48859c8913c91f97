package floor_test

import (
	"encoding/json"
	"net/http"
	"slices"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/web/webtest"
)

// thing is what the tests read of something that an operation needs.
type thing struct{ Thing, State, By, Note string }

func thingsOf(r *webtest.Rig, card string) map[int][]thing {
	r.T.Helper()
	var b struct {
		Operations []struct {
			Operation int
			Things    []thing
		}
	}
	if status := r.Do("GET", "/api/v1/batches/"+card, nil, &b); status != http.StatusOK {
		r.T.Fatalf("batch %s: %d", card, status)
	}
	out := map[int][]thing{}
	for _, o := range b.Operations {
		if len(o.Things) > 0 {
			out[o.Operation] = o.Things
		}
	}
	return out
}

func ready(card, what, state string, op int) webtest.Said {
	return webtest.Said{"station": "office", "card": card, "action": "ready", "for": what, "reason": state,
		"operation": op}
}

// firstWaits gives the cards that wait at a machine, in the order of the board, and what
// each lacks.
func firstWaits(r *webtest.Rig, machine string) (cards []string, lacks map[string][]string) {
	r.T.Helper()
	var v struct {
		Waiting []struct {
			Card     string
			NotReady []string `json:"not_ready"`
		}
	}
	if status := r.Do("GET", "/api/v1/station/"+machine, nil, &v); status != http.StatusOK {
		r.T.Fatal(status)
	}
	lacks = map[string][]string{}
	for _, w := range v.Waiting {
		cards, lacks[w.Card] = append(cards, w.Card), w.NotReady
	}
	return cards, lacks
}

// untilWaits asks what waits at T1 until that fits: boards follow the record.
func untilWaits(r *webtest.Rig, what string, fits func(cards []string, lacks map[string][]string) bool) {
	r.T.Helper()
	for end := time.Now().Add(time.Minute); ; {
		cards, lacks := firstWaits(r, "T1")
		if fits(cards, lacks) {
			return
		}
		if time.Now().After(end) {
			r.T.Fatalf("%s: %v, lacking %v", what, cards, lacks)
		}
	}
}

// A shop without a list sees nothing of it, and no batch is thought to lack anything.
func TestNoListNothingToCheck(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	card := r.Card("W-501")
	if got := thingsOf(r, card); len(got) != 0 {
		t.Errorf("%v", got)
	}
	if a := r.Scan(ready(card, "tools", "missing", 10))[0]; a.Outcome != "refused" {
		t.Errorf("%+v", a)
	}
	if _, lacks := firstWaits(r, "T1"); lacks[card] != nil {
		t.Errorf("%v", lacks)
	}
}

// A planner says that something is missing: it is why the batch waits, which goes to the
// end of the line though it was first; that it is there takes it back to its place.
func TestWhatIsMissingGoesLast(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	r.Import("reasons",
		"kind,reason,text,work_centres\nready,tools,Tools,\nready,fixture,Fixture,\"MILL, TURN\"\nready,paint,Paint,SPRAY\n")
	planner, super := r.As(traveler.RolePlanner), r.As(traveler.RoleSupervisor)
	before, _ := firstWaits(super, "T1")
	if len(before) < 2 {
		t.Fatalf("%v wait", before)
	}
	card := before[0]
	things := thingsOf(super, card)
	if len(things) == 0 {
		t.Fatal("nothing is needed")
	}
	op := 0
	for o := range things {
		if op == 0 || o < op {
			op = o
		}
	}
	if got := things[op]; len(got) != 2 || got[0] != (thing{Thing: "tools", State: "open"}) ||
		got[1].Thing != "fixture" {
		t.Errorf("%+v", got)
	}
	if cards, lacks := firstWaits(super, "T1"); !slices.Equal(cards, before) || lacks[card] != nil {
		t.Errorf("nobody has looked: %v %v", cards, lacks)
	}
	missing := ready(card, "fixture", "missing", op)
	missing["note"] = "at the grinder's"
	if a := planner.Scan(missing)[0]; a.Outcome != "kept" {
		t.Fatalf("%+v", a)
	}
	untilWaits(super, "it is last, and says why", func(cards []string, lacks map[string][]string) bool {
		return cards[len(cards)-1] == card && slices.Equal(lacks[card], []string{"fixture"})
	})
	if got := thingsOf(super, card)[op][1]; got.State != "missing" || got.Note != "at the grinder's" ||
		got.By == "" {
		t.Errorf("%+v", got)
	}
	if a := super.Scan(ready(card, "", "there", op))[0]; a.Outcome != "kept" {
		t.Errorf("%+v", a)
	}
	untilWaits(super, "it has its place again", func(cards []string, lacks map[string][]string) bool {
		return slices.Equal(cards, before) && lacks[card] == nil
	})
}

// Rows of a board are compared with ==, and say what is missing as a list.
func TestThingsAsJSON(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]board.Things{`[]`: "", `["a"]`: "a", `["a","b c"]`: "a\nb c"} {
		got, err := json.Marshal(want)
		if err != nil || string(got) != text {
			t.Errorf("%s, want %s: %v", got, text, err)
		}
		var back board.Things
		if err := json.Unmarshal([]byte(text), &back); err != nil || back != want {
			t.Errorf("%q, want %q: %v", back, want, err)
		}
	}
}
