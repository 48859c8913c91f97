package floor_test

import (
	"fmt"
	"reflect"
	"testing"

	"tallywalk/web/webtest"
)

// However few batches are asked for, they are the first of all, and it is said whether
// there are more.
func TestFewerBatches(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{Open: true})
	type list struct {
		Batches []map[string]any
		More    bool
	}
	ask := func(limit int) (l list) {
		if status := r.Do("GET", fmt.Sprint("/api/v1/batches?limit=", limit), nil, &l); status != 200 {
			t.Fatalf("limit %d: status %d", limit, status)
		}
		return l
	}
	all := ask(500)
	if len(all.Batches) < 3 || all.More {
		t.Fatalf("%d batches, more %v", len(all.Batches), all.More)
	}
	for limit := 1; limit <= len(all.Batches)+1; limit++ {
		got, n := ask(limit), min(limit, len(all.Batches))
		if !reflect.DeepEqual(got.Batches, all.Batches[:n]) || got.More != (n < len(all.Batches)) {
			t.Errorf("limit %d: %d batches, more %v", limit, len(got.Batches), got.More)
		}
	}
}
