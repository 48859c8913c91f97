package store

import (
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tallywalk/traveler"
)

// TestFactsComeBack writes random facts and reads them again: every field, so
// that one added to the type and forgotten in the row is found.
func TestFactsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in traveler.BatchFact
		drawFact(t, reflect.ValueOf(&in).Elem(), "")
		row, err := packFacts(&in)
		if err != nil {
			t.Fatal(err)
		}
		var out traveler.BatchFact
		if err := unpackFacts(&out, row, false, map[string]string{}); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(in, out) {
			t.Fatalf("wrote %+v\nread %+v", in, out)
		}
		in.Visits = nil
		var bare traveler.BatchFact
		if err := unpackFacts(&bare, row, true, map[string]string{}); err != nil || !reflect.DeepEqual(in, bare) {
			t.Fatalf("wrote %+v\nread without visits %+v (%v)", in, bare, err)
		}
		if n := rapid.IntRange(0, len(row)-1).Draw(t, "cut"); unpackFacts(&out, row[:n], false, map[string]string{}) == nil {
			t.Fatalf("a row of %d bytes cut to %d reads as whole", len(row), n)
		}
	})
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
		v.SetString(string(nameID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, name))))
	case v.Type() == reflect.TypeFor[traveler.BusyFact]():
		from := fromMS(rapid.Int64Range(1e12, 2e12).Draw(t, name))
		v.Set(reflect.ValueOf(traveler.BusyFact{
			Kind: rapid.SampledFrom(busyKinds).Draw(t, "kind"), From: from, To: from.Add(time.Duration(rapid.IntRange(0, 1e9).Draw(t, "long")) * time.Millisecond),
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
