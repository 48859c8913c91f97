package intake

import (
	"slices"
	"strings"
	"testing"

	"tallywalk/traveler"
)

func TestCornersAndAisles(t *testing.T) {
	corners, err := Corners("c.csv", strings.NewReader("Corner;x_m;y_m\r\nC1;0;2,5\r\nC2;-10;0\r\n"))
	if want := []traveler.Corner{{ID: "C1", Y: 2.5}, {ID: "C2", X: -10}}; err != nil ||
		!slices.Equal(corners, want) {
		t.Errorf("%+v %v", corners, err)
	}
	aisles, err := Aisles("a.csv", strings.NewReader("from,to,metres\nC1,C2,\nC2,L1,12.5\nC1,L1,\n"))
	if want := []traveler.Aisle{{From: "C1", To: "C2"}, {From: "C2", To: "L1", Metres: 12.5},
		{From: "C1", To: "L1"}}; err != nil || !slices.Equal(aisles, want) {
		t.Errorf("%+v %v", aisles, err)
	}
	aisles, err = Aisles("a.csv", strings.NewReader("to,from\nC2,C1\n"))
	if err != nil || len(aisles) != 1 || aisles[0].From != "C1" {
		t.Errorf("without metres: %+v %v", aisles, err)
	}
}

func TestBadCornersAndAisles(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"corner,x_m,y_m\nC1,0,0\nC1,5,5\n", `f.csv:3: corner "C1": stands on line 2 already`},
		{"corner,x_m,y_m\n,0,0\n", `f.csv:2: corner "": must be given`},
		{"corner,x_m,y_m\nC1,0,here\n", `f.csv:2: y_m "here": must be a number`},
		{"corner,x_m,y_m\nC1,1e9,0\n", `f.csv:2: x_m "1e9"`},
		{"corner,x_m\nC1,1\n", `f.csv:1: y_m "": this column is missing`},
	} {
		if _, err := Corners("f.csv", strings.NewReader(c.in)); err == nil ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("want %q, got %v", c.want, err)
		}
	}
	for _, c := range []struct{ in, want string }{
		{"from,to\nC1,C1\n", `f.csv:2: to "C1": is where the aisle begins`},
		{"from,to\nC1,C2\nL1,C2\nC1,C2\n", `f.csv:4: to "C2": ends an aisle that stands on line 2 already`},
		{"from,to\nC1,C2\nC2,C1\n", `f.csv:3: to "C1": ends an aisle that stands on line 2 already`},
		{"from,to\nC1,\n", `f.csv:2: to "": must be given`},
		{"from,to,metres\nC1,C2,0\n", `f.csv:2: metres "0": must be from 0.01 to`},
		{"from,to,metres\nC1,C2,-5\n", `f.csv:2: metres "-5": must be from 0.01 to`},
		{"from,to,metres\nC1,C2,far\n", `f.csv:2: metres "far": must be a number`},
	} {
		_, err := Aisles("f.csv", strings.NewReader(c.in))
		if err == nil || !strings.Contains(err.Error(), c.want) ||
			!strings.Contains(err.Error(), ": 1 problem\n") {
			t.Errorf("want %q alone, got %v", c.want, err)
		}
	}
}
