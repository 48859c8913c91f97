package floor

import (
	"encoding/json"
	"maps"
	"reflect"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/rows/rowstest"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/bigfloor"
	"tallywalk/web/door"
)

// What the short answer to a scan says of a batch is what the whole one says,
// byte by byte where texts are odd, and it is a good deal shorter.
func TestShortIsOfTheWhole(t *testing.T) {
	t.Parallel()
	d := bigfloor.New(60)
	s := &room{
		Door: &door.Door{
			House: &ask.House{
				Desk: d, Now: func() time.Time { return d.Now }, Tables: &rowstest.Tables{},
				Floors: &ground.Floors{},
			},
		},
	}
	faces := door.NewFaces(s.Tables, true, traveler.English)
	short, whole := &nows{s: s, faces: faces, much: nowShort}, &nows{s: s, faces: faces, much: nowWhole}
	asked, lengths := 0, [2]int{}
	for i, f := range d.Families {
		if i%3 == 0 {
			f = d.TooMany(f)
		}
		f.Batches[0].Order = "W \"7\\\" \n\u00e4\u2028<&> \xff"
		a := &story.Answer{Family: f, Card: f.Root}
		got, want := decoded(t, short, a, &lengths[0]), decoded(t, whole, a, &lengths[1])
		part(t, f.Root, got, want)
		questions, _ := got["questions"].([]any)
		asked += len(questions)
	}
	if asked == 0 {
		t.Error("no batch asked anything")
	}
	if lengths[0]*5 > lengths[1]*2 {
		t.Errorf("%d bytes short, %d whole", lengths[0], lengths[1])
	}
}

func decoded(t *testing.T, n *nows, a *story.Answer, length *int) map[string]any {
	t.Helper()
	o := &jsonOut{[]byte("{")}
	if err := n.put(o, a); err != nil {
		t.Fatal(err)
	}
	*length += len(o.b)
	var out struct{ Now map[string]any }
	if err := json.Unmarshal(append(o.b, '}'), &out); err != nil {
		t.Fatalf("%v: %s", err, o.b)
	}
	n.done = nil
	return out.Now
}

// part reports what an object says otherwise than a larger one.
func part(t *testing.T, card traveler.Code, got, want map[string]any) {
	t.Helper()
	for key := range maps.Keys(got) {
		if key != "visits" {
			if !reflect.DeepEqual(got[key], want[key]) {
				t.Errorf("%s: %s is %v, want %v", card, key, got[key], want[key])
			}
			continue
		}
		a, _ := got[key].([]any)
		b, _ := want[key].([]any)
		if len(a) != len(b) {
			t.Fatalf("%s: %d visits, want %d", card, len(a), len(b))
		}
		for i := range a {
			x, _ := a[i].(map[string]any)
			y, _ := b[i].(map[string]any)
			part(t, card, x, y)
		}
	}
}

// Answers about the same story are written once in a request; none asks for none.
func TestNowIsWrittenOnce(t *testing.T) {
	t.Parallel()
	d := bigfloor.New(2)
	s := &room{
		Door: &door.Door{
			House: &ask.House{
				Desk: d, Now: func() time.Time { return d.Now }, Tables: &rowstest.Tables{},
				Floors: &ground.Floors{},
			},
		},
	}
	n := &nows{s: s, faces: door.NewFaces(s.Tables, true, traveler.English), much: nowShort}
	a := &story.Answer{Family: d.Families[1], Card: d.Families[1].Root}
	o := &jsonOut{[]byte("[{")}
	for range 2 {
		if err := n.put(o, a); err != nil {
			t.Fatal(err)
		}
		o.b = append(o.b, "},{"...)
		d.Now = d.Now.Add(time.Hour) // it would be another if it were made again
	}
	n.much = nowNone
	if err := n.put(o, a); err != nil {
		t.Fatal(err)
	}
	var out []map[string]any
	if err := json.Unmarshal(append(o.b, "}]"...), &out); err != nil {
		t.Fatalf("%v: %s", err, o.b)
	}
	if out[0]["now"] == nil || !reflect.DeepEqual(out[0], out[1]) || len(out[2]) != 0 {
		t.Errorf("%v", out)
	}
}
