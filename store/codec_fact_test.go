package store

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// TestFactsComeBack writes random facts and reads them again: every field, so
// that one added to the type and forgotten in the row is found.
func TestFactsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in story.BatchFact
		drawFact(t, reflect.ValueOf(&in).Elem(), "")
		row, err := PackFacts(&in)
		if err != nil {
			t.Fatal(err)
		}
		out, err := NewFactReader(0, false).Read(row)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(in, *out) {
			t.Fatalf("wrote %+v\nread %+v", in, *out)
		}
		if n := rapid.IntRange(0, len(row)-1).Draw(t, "cut"); cutReads(row[:n]) {
			t.Fatalf("a row of %d bytes cut to %d reads as whole", len(row), n)
		}
	})
}

func cutReads(row []byte) bool {
	_, err := NewFactReader(0, false).Read(row)
	return err == nil
}

// What is left out of reading is missing and all else is there, for every choice
// of what to leave out; lent lists hold the same, whatever was in them before.
func TestFactsComeBackInPart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		without := story.FactParts(rapid.IntRange(0, int(2*story.FactBusy-1)).Draw(t, "without"))
		lent := NewFactReader(without, true)
		for range 3 {
			var in story.BatchFact
			drawFact(t, reflect.ValueOf(&in).Elem(), "")
			row, err := PackFacts(&in)
			if err != nil {
				t.Fatal(err)
			}
			leaveOut(&in, without)
			want := readable(t, &in)
			once, err := NewFactReader(without, false).Read(row)
			if err != nil || readable(t, once) != want {
				t.Fatalf("without %b, of\n%s\nread\n%s (%v)", without, want, readable(t, once), err)
			}
			again, err := lent.Read(row)
			if err != nil || readable(t, again) != want {
				t.Fatalf("without %b, of\n%s\nlent\n%s (%v)", without, want, readable(t, again), err)
			}
		}
	})
}

// leaveOut empties what a reader does without.
func leaveOut(b *story.BatchFact, without story.FactParts) {
	if without&story.FactTrip != 0 {
		b.Trip = nil
	}
	if without&story.FactVisits != 0 {
		b.Visits = nil
		if without&story.FactOps != 0 {
			b.Ops = nil
		}
	}
	for i := range b.Visits {
		v := &b.Visits[i]
		if without&story.FactIDs != 0 {
			v.Visit, v.CameFrom, v.Metres = "", "", 0
		}
		if without&story.FactSpent != 0 {
			v.Parts, v.Waited, v.Closed, v.Shut = story.Parts{}, 0, 0, 0
			v.Good, v.Scrap, v.Rework, v.Review, v.Missing, v.SetupN = 0, 0, 0, 0, 0, 0
			v.Aside, v.Conceded = 0, 0
		}
		if without&story.FactSpent != 0 && without&story.FactBusy != 0 {
			v.Begun, v.Ended = time.Time{}, time.Time{}
		}
		if without&story.FactLosses != 0 {
			v.Losses, v.Stops = nil, nil
		}
		if without&story.FactBusy != 0 {
			v.Busy = nil
		}
	}
}

// readable writes a fact; an empty list and none are the same.
func readable(t *rapid.T, b *story.BatchFact) string {
	data, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(string(data), ":[]", ":null")
}

// drawFact draws a value for every field of a fact.
func drawFact(t *rapid.T, v reflect.Value, name string) {
	switch {
	case v.Type() == reflect.TypeFor[time.Time]():
		if name == "Released" || rapid.Bool().Draw(t, "said") {
			v.Set(reflect.ValueOf(fromMS(rapid.Int64Range(1e12, 2e12).Draw(t, name))))
		}
	case v.Type() == reflect.TypeFor[time.Duration]():
		v.SetInt(int64(time.Millisecond) * rapid.Int64Range(-1e6, 1e9).Draw(t, name))
	case v.Type() == reflect.TypeFor[traveler.ScanID]():
		v.SetString(string(NameID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, name))))
	case v.Type() == reflect.TypeFor[story.BusyFact]():
		from := fromMS(rapid.Int64Range(1e12, 2e12).Draw(t, name))
		v.Set(reflect.ValueOf(story.BusyFact{
			Kind: rapid.SampledFrom(busyKinds).Draw(t, "kind"), From: from,
			To: from.Add(time.Duration(rapid.IntRange(0, 1e9).Draw(t, "long")) * time.Millisecond),
		}))
	case v.Kind() == reflect.String:
		v.SetString(rapid.StringN(0, 12, -1).Draw(t, name))
	case v.Kind() == reflect.Int:
		v.SetInt(rapid.Int64Range(-5, 1e6).Draw(t, name))
	case v.Kind() == reflect.Float64:
		v.SetFloat(float64(rapid.IntRange(0, 1e6).Draw(t, name)) / 100)
	case v.Kind() == reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, name))
	case v.Kind() == reflect.Slice:
		if n := rapid.IntRange(0, 3).Draw(t, name); n > 0 {
			v.Set(reflect.MakeSlice(v.Type(), n, n))
			for i := range n {
				drawFact(t, v.Index(i), name)
			}
		}
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			drawFact(t, v.Field(i), v.Type().Field(i).Name)
		}
	default:
		t.Fatalf("a fact has a field of kind %s", v.Kind())
	}
}
