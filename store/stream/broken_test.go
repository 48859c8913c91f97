package stream

import (
	"context"
	"encoding/json"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/store/stream/fit"
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
		"nats://hall1:4222": "hall1:4222", "nats://hall1": "hall1:4222", "nats://10.0.0.5:1": "10.0.0.5:1",
		"nats://[::1]": "[::1]:4222",
	} {
		if got := hostOf(given); got != want {
			t.Errorf("%s is at %s, not %s", given, got, want)
		}
	}
	li, err := dial(&Options{URLs: []string{"nats://localhost:" + portOf(t, node(t))}, Name: "one"})
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
	again := Options{URLs: []string{url}, Stream: "AGAIN", Name: "move"}
	if err := MoveTo(context.Background(), file, again); traveler.KindOf(err) != traveler.KindConflict {
		t.Fatalf("a second record is made beside one that is there: %v", err)
	}
	lose(t, url, "SHOP")
	if err := MoveTo(context.Background(), file, again); err != nil {
		t.Fatal(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	if file, err = store.Open(more, store.Options{NoSync: true, Elsewhere: true}); err != nil {
		t.Fatal(err)
	}
	l, err := Open(context.Background(), file,
		Options{URLs: []string{url}, Stream: "AGAIN", Name: "two", Now: time.Now, Real: time.Now})
	if traveler.KindOf(err) != traveler.KindCorrupt {
		t.Errorf("a file that holds more than the stream opens with %v", err)
	}
	if err == nil {
		_ = l.Close()
	}
}

// lose removes a stream, as when its disks are lost.
func lose(t *testing.T, url, name string) {
	t.Helper()
	li, err := dial(&Options{URLs: []string{url}, Name: "lose"})
	if err != nil {
		t.Fatal(err)
	}
	defer li.nc.Close()
	if err := li.unmake(name); err != nil {
		t.Fatal(err)
	}
}

// TestAClockInDoubtLeavesItToAnother listens to a server that decides when its clock leaps.
func TestAClockInDoubtLeavesItToAnother(t *testing.T) {
	url := node(t)
	make1(t, url, "SHOP")
	l := openLog(t, url, "SHOP", "one")
	defer func() { _ = l.Close() }()
	var doubt atomic.Bool
	nc, err := nats.Connect(url)
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	heard := make(chan beat, 64)
	if _, err := nc.Subscribe(beats("SHOP"), func(m *nats.Msg) {
		var b beat
		if err := json.Unmarshal(m.Data, &b); err != nil {
			t.Error(err)
		}
		heard <- b
	}); err != nil {
		t.Fatal(err)
	}
	decidesWhile(t, l, doubt.Load)
	for b := range heard {
		if b.Writes {
			break
		}
	}
	doubt.Store(true)
	for b := range heard {
		if !b.Writes {
			break
		}
	}
}

// TestABucketThatIsLostTakesNothingAlong opens a server over a bucket that was lost.
func TestABucketThatIsLostTakesNothingAlong(t *testing.T) {
	url, dir, ctx := node(t), t.TempDir(), context.Background()
	make1(t, url, "SHOP")
	opt := Options{URLs: []string{url}, Stream: "SHOP", Name: "one", Now: time.Now, Real: time.Now}
	open := func() (*Tables, *Log, error) {
		file, err := store.Open(dir, store.Options{NoSync: true, Elsewhere: true})
		if err != nil {
			t.Fatal(err)
		}
		l, err := Open(ctx, file, opt)
		if err != nil {
			t.Fatal(err)
		}
		tables, err := Share(ctx, file, l)
		return tables, l, err
	}
	tables, l, err := open()
	if err != nil {
		t.Fatal(err)
	}
	if err := tables.Put("accounts", "a", []byte("b")); err != nil {
		t.Fatal(err)
	}
	js, err := jetstream.New(l.link.nc)
	if err != nil {
		t.Fatal(err)
	}
	if err := js.DeleteKeyValue(ctx, fit.BucketName("SHOP")); err != nil {
		t.Fatal(err)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	if _, l, err = open(); traveler.KindOf(err) != traveler.KindCorrupt {
		t.Errorf("a server over a lost bucket opens with %v", err)
	}
	if v, err := l.File().Tables().Get("accounts", "a"); err != nil || string(v) != "b" {
		t.Errorf("the row of its own file is %q, %v", v, err)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestAQuestionThatIsTooLarge asks another server what no message holds.
func TestAQuestionThatIsTooLarge(t *testing.T) {
	l := streams(t)(t)
	defer func() { _ = l.Close() }()
	d := &Desk{log: l}
	by := traveler.Actor{Name: strings.Repeat("x", int(l.link.nc.MaxPayload()))}
	if _, err := d.there(context.Background(), "another",
		&question{By: by}); traveler.KindOf(err) != traveler.KindTooLarge {
		t.Errorf("it fails with %v", err)
	}
}

// TestWhatAServerWritesItselfIsNoNews counts the calls for rows of two servers.
func TestWhatAServerWritesItselfIsNoNews(t *testing.T) {
	url, ctx := node(t), context.Background()
	make1(t, url, "SHOP")
	var both [2]*Tables
	for i, name := range []string{"one", "two"} {
		l := openLog(t, url, "SHOP", name)
		defer func() { _ = l.Close() }()
		var err error
		if both[i], err = Share(ctx, l.File(), l); err != nil {
			t.Fatal(err)
		}
	}
	calls := make(chan struct{}, 64)
	both[0].OnChange(func() { calls <- struct{}{} })
	for i := range 20 {
		if err := both[0].Put("prints", strconv.Itoa(i), []byte("x")); err != nil {
			t.Fatal(err)
		}
	}
	if err := both[1].Put("prints", "other", []byte("x")); err != nil {
		t.Fatal(err)
	}
	<-calls
	if n := len(calls); n > 0 {
		t.Errorf("rows of its own were news to a server, %d times", n)
	}
}
