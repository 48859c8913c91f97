package stream

import (
	"context"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// TestOneThatDecidesAndRestsStaysAtItsNode looks at a server that decides and was said
// nothing for an hour.
func TestOneThatDecidesAndRestsStaysAtItsNode(t *testing.T) {
	l := streams(t)(t)
	defer func() { _ = l.Close() }()
	later := time.Now().Add(time.Hour)
	if l.stuck(later) {
		t.Error("it takes its node for one that keeps it from being heard")
	}
	l.stepBack()
	if !l.stuck(later) {
		t.Error("it stays at its node though an append failed and nothing was heard for an hour")
	}
}

// TestANodeByItsName holds the addresses of nodes against each other as they are given.
func TestANodeByItsName(t *testing.T) {
	for given, want := range map[string]string{
		"nats://hall1:4222": "hall1:4222", "nats://hall1": "hall1:4222", "nats://10.0.0.5:1": "10.0.0.5:1", "nats://[::1]": "[::1]:4222",
	} {
		if got := hostOf(given); got != want {
			t.Errorf("%s is at %s, not %s", given, got, want)
		}
	}
	li, err := dial([]string{"nats://localhost:" + portOf(t, node(t))}, "one", nil)
	if err != nil {
		t.Fatal(err)
	}
	defer li.nc.Close()
	l := &Log{link: li, opt: Options{URLs: li.nc.Opts.Servers}}
	if got, want := l.at(), hostOf(l.opt.URLs[0]); got != want {
		t.Errorf("a server that is connected to %s takes itself for one at %s", want, got)
	}
}

func portOf(t *testing.T, url string) string {
	t.Helper()
	nc, err := nats.Connect(url)
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	return nc.ConnectedUrl()[len("nats://127.0.0.1:"):]
}

// TestAClockThatIsOffDoesNotTakeTheDeadOnesPlace looks at a server of three after the one
// that decided has died.
func TestAClockThatIsOffDoesNotTakeTheDeadOnesPlace(t *testing.T) {
	now := time.Now()
	dead := &peer{heard: now.Add(-4 * time.Second), ahead: -time.Hour}
	l := &Log{opt: Options{Real: func() time.Time { return now }}, peers: map[string]*peer{
		"dead": dead, "other": {heard: now, ahead: -time.Hour - time.Second},
	}}
	if !l.offClock() {
		t.Error("a server whose clock is an hour ahead of both others would decide")
	}
	dead.ahead = time.Second
	if l.offClock() {
		t.Error("a server whose clock is that of the dead one would not decide")
	}
}

// TestAFileWithMoreThanTheStreamMadeAgain opens a server over a stream that was made of
// another server's folder, which had less.
func TestAFileWithMoreThanTheStreamMadeAgain(t *testing.T) {
	url, i := node(t), &ids{}
	make1(t, url, "SHOP")
	less, more := t.TempDir(), t.TempDir()
	one := openHall(t, url, "SHOP", "one", less)
	if err := one.desk.Change(context.Background(), storetest.Supervisor, storetest.Shop()); err != nil {
		t.Fatal(err)
	}
	two := openHall(t, url, "SHOP", "two", more)
	card := release(t, two.desk, i)
	alike(t, one, two)
	one.close(t)
	if _, err := two.desk.Scans(context.Background(), []story.Said{count(i, card)}); err != nil {
		t.Fatal(err)
	}
	two.close(t)
	file, err := store.Open(less, store.Options{NoSync: true, Elsewhere: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := MoveTo(context.Background(), file, Options{URLs: []string{url}, Stream: "AGAIN", Name: "move"}); err != nil {
		t.Fatal(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	if file, err = store.Open(more, store.Options{NoSync: true, Elsewhere: true}); err != nil {
		t.Fatal(err)
	}
	l, err := Open(context.Background(), file, Options{URLs: []string{url}, Stream: "AGAIN", Name: "two", Now: time.Now, Real: time.Now})
	if traveler.KindOf(err) != traveler.KindCorrupt {
		t.Errorf("a file that holds more than the stream opens with %v", err)
	}
	if err == nil {
		_ = l.Close()
	}
}
