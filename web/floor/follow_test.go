package floor_test

import (
	"net/http"
	"strings"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

type followed struct {
	Questions []struct {
		Question string
		Answers  []struct {
			Choice, Refused string
			Opens           int
			Batches         []struct {
				Card                                           string
				Wanted, Finishes, Good, Scrap, Missing, Review int
				FinishesNow                                    int `json:"finishes_now"`
				ToDo                                           int `json:"to_do"`
				Held                                           bool
			}
		}
	}
}

// asked are the open questions about a batch.
func asked(r *webtest.Rig, card string) (out []struct{ Question, Kind, Cause, Blocks, Machine string }) {
	r.T.Helper()
	var all struct {
		Open []struct{ Question, Card, Kind, Cause, Blocks, Machine string }
	}
	if status := r.Do("GET", "/api/v1/questions", nil, &all); status != http.StatusOK {
		r.T.Fatal(status)
	}
	for _, q := range all.Open {
		if q.Card == card {
			out = append(out,
				struct{ Question, Kind, Cause, Blocks, Machine string }{q.Question, q.Kind, q.Cause, q.Blocks,
					q.Machine})
		}
	}
	return out
}

// Forty of fifty are counted and the operation is finished: what becomes of the other
// ten is asked, and what follows from each answer is what it then comes to.
func TestWhatFollows(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	r.Import("routes",
		"part,route_rev,operation,work_centre,setup_min,cycle_min\nKEY,1,10,TURN,10,1\nKEY,1,20,TURN,10,1\n")
	var b orderedBatch
	body := map[string]any{"id": webtest.NewID(), "part": "KEY", "route_rev": "1", "pieces": 50,
		"works_order": "W-700"}
	if status := r.Do("POST", "/api/v1/batches", body, &b); status != http.StatusCreated {
		t.Fatal(status)
	}
	r.Scan(
		webtest.Said{"station": "T1", "card": b.Card, "action": "run", "operation": 10},
		webtest.Said{"station": "T1", "card": b.Card, "action": "finish", "operation": 10, "good": 40},
	)
	open := asked(r, b.Card)
	if len(open) != 1 || open[0].Kind != "uncounted" || open[0].Cause != "uncounted" ||
		open[0].Blocks != "pieces" || open[0].Machine != "T1" {
		t.Fatalf("%+v", open)
	}
	id := open[0].Question
	ask := map[string]any{"questions": []any{
		map[string]string{"card": b.Card, "question": id},
		map[string]string{"card": b.Card, "question": "gone"},
	}}
	var v followed
	if status := r.Do("POST", "/api/v1/questions/follow", ask, &v); status != http.StatusOK {
		t.Fatal(status)
	}
	if len(v.Questions) != 2 || len(v.Questions[1].Answers) != 0 {
		t.Fatalf("%+v", v)
	}
	finishes := map[string]int{}
	for _, a := range v.Questions[0].Answers {
		finishes[a.Choice] = 50
		for _, x := range a.Batches {
			finishes[a.Choice] = x.Finishes
			if a.Choice == "missing" &&
				(x.Missing != 10 || x.FinishesNow != 50 || x.ToDo != -10 || x.Wanted != 50) {
				t.Errorf("%+v", x)
			}
		}
		if a.Refused != "" || a.Opens != 0 {
			t.Errorf("%+v", a)
		}
	}
	if finishes["missing"] != 40 || finishes["good"] != 50 {
		t.Errorf("%v", finishes)
	}
	if again := asked(r, b.Card); len(again) != 1 {
		t.Errorf("asking what follows answered it: %+v", again)
	}
	// What was said to follow does.
	if a := r.Scan(webtest.Said{"station": "office", "card": b.Card, "action": "decide", "for": id,
		"reason": "missing"})[0]; a.Outcome != "kept" {
		t.Fatalf("%+v", a)
	}
	if b = order(r, b.Card); b.Short != 10 {
		t.Errorf("short %d", b.Short)
	}
	r.Do("POST", "/api/v1/questions/follow", ask, &v)
	if len(v.Questions[0].Answers) != 0 {
		t.Errorf("a question that is settled: %+v", v.Questions[0])
	}
}

// Many answers are one request: one whose question stands no more is refused for itself,
// with why, and the others are kept.
func TestManyAnswersInOne(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleSupervisor)
	card, other := r.Card("W-501"), r.Card("W-503")
	for _, c := range []string{card, other} {
		r.Scan(
			webtest.Said{"station": "T1", "card": c, "action": "run", "operation": 10, "anyway": true,
				"reason": "urgent"},
			webtest.Said{"station": "T1", "card": c, "action": "finish", "operation": 10, "good": 1,
				"anyway": true, "reason": "urgent"},
		)
	}
	uncounted := func(card string) string {
		for _, q := range asked(r, card) {
			if q.Kind == "uncounted" {
				return q.Question
			}
		}
		t.Fatalf("%s: %+v", card, asked(r, card))
		return ""
	}
	decide := func(card, id string) webtest.Said {
		return webtest.Said{"station": "office", "card": card, "action": "decide", "for": id,
			"reason": "missing"}
	}
	first, second := uncounted(card), uncounted(other)
	answers := r.Scan(decide(card, first), decide(card, first+":gone"), decide(other, second))
	if answers[0].Outcome != "kept" || answers[2].Outcome != "kept" {
		t.Errorf("%+v", answers)
	}
	if a := answers[1]; a.Outcome != "refused" || !strings.Contains(a.Say, "no longer stands") {
		t.Errorf("%+v", a)
	}
}

func TestWhatFollowsIsForThoseWhoDecide(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{})
	body := map[string]any{"questions": []any{map[string]string{"card": "W-501", "question": "x"}}}
	r.As(traveler.RoleOperator).Refused("POST", "/api/v1/questions/follow", body, http.StatusForbidden)
	many := make([]map[string]string, 51)
	for i := range many {
		many[i] = map[string]string{"card": "W-501", "question": "x"}
	}
	r.As(traveler.RoleSupervisor).Refused("POST", "/api/v1/questions/follow",
		map[string]any{"questions": many}, http.StatusBadRequest)
}
