package main

import "testing"

// A concession is followed back by its reference: which pieces, where, when.
func TestTraceNamesConcessions(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	card := r.card("W-502")
	r.scan(
		said{"station": "T1", "card": card, "action": "run", "operation": 10},
		said{"station": "T1", "card": card, "action": "finish", "operation": 10, "good": 117,
			"review": []said{{"reason": "limit", "n": 3}}},
		said{"station": "Q1", "card": card, "action": "decide", "operation": 10, "good": 2,
			"reason": "concession", "note": "C-17"},
		said{"station": "Q1", "card": card, "action": "decide", "operation": 10, "good": 1},
	)
	var v struct {
		Batches []struct {
			Concession  int
			Concessions []struct {
				Operation, Pieces int
				Reference         string
			}
		}
	}
	r.do("GET", "/api/v1/trace?q=W-502", nil, &v)
	if len(v.Batches) != 1 || v.Batches[0].Concession != 2 || len(v.Batches[0].Concessions) != 1 {
		t.Fatalf("%+v", v)
	}
	if c := v.Batches[0].Concessions[0]; c.Operation != 10 || c.Pieces != 2 || c.Reference != "C-17" {
		t.Errorf("%+v", c)
	}
	browse(t, r).open("/trace?q=W-502").untilSays("conceded",
		"2 let pass at operation 10 with concession C-17")
}
