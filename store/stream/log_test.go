package stream

import (
	"fmt"
	"testing"

	"tallywalk/store"
	"tallywalk/store/desk/desktest"
	"tallywalk/store/storetest"
	"tallywalk/traveler/story"
)

// streams makes streams of one node, each empty, with a log that decides.
func streams(t testing.TB) func(t testing.TB) *Log {
	url, n := node(t), 0
	return func(t testing.TB) *Log {
		n++
		name := fmt.Sprintf("S%d", n)
		make1(t, url, name)
		return decides(t, openLog(t, url, name, "one"))
	}
}

func TestStreamIsALog(t *testing.T) {
	open := streams(t)
	storetest.Run(t, store.LedgerFormat, func(t *testing.T) story.Log {
		l := open(t)
		t.Cleanup(func() { _ = l.Close() })
		return l
	})
}

func TestSameScansTheSameShop(t *testing.T) {
	open := streams(t)
	desktest.Alike(t, 2, func(t testing.TB) story.Log { return open(t) })
}
