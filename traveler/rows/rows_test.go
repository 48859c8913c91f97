package rows_test

import (
	"cmp"
	"slices"
	"testing"

	"tallywalk/traveler/rows"
	"tallywalk/traveler/rows/rowstest"
)

// Rows that compare as equal come by key: a table that is listed twice has one order.
func TestListHasOneOrder(t *testing.T) {
	tables := &rowstest.Tables{}
	for key, n := range map[string]int{"d": 1, "a": 2, "c": 1, "e": 1, "b": 1} {
		if err := rows.Write(tables, "x", key, n); err != nil {
			t.Fatal(err)
		}
	}
	type pair struct {
		key string
		n   int
	}
	got, err := rows.List(tables, "x", func(key string, n *int) pair { return pair{key, *n} },
		func(a, b pair) int { return cmp.Compare(a.n, b.n) })
	want := []pair{{"b", 1}, {"c", 1}, {"d", 1}, {"e", 1}, {"a", 2}}
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("%v, %v; want %v", got, err, want)
	}
	none, err := rows.List(tables, "y", rows.Row[int], cmp.Compare[int])
	if none == nil || len(none) > 0 || err != nil {
		t.Errorf("of an empty table: %v, %v; an answer must have a list", none, err)
	}
}
