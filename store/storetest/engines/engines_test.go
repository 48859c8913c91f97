package engines_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"tallywalk/store/storetest/engines"
)

func TestMain(m *testing.M) {
	engines.Hook()
	os.Exit(m.Run())
}

const stream = "SHOP"

// keep makes a stream on all nodes and gives what a client writes to it with.
func keep(t *testing.T, s *engines.Set, nodes int) jetstream.JetStream {
	t.Helper()
	js := client(t, s.URLs(), s.Dial()...)
	s.Await("the stream", func() bool {
		_, err := js.CreateOrUpdateStream(t.Context(), jetstream.StreamConfig{Name: stream, Replicas: nodes})
		return err == nil
	})
	return js
}

func client(t *testing.T, urls []string, options ...nats.Option) jetstream.JetStream {
	t.Helper()
	_, js := engines.Connect(t, urls,
		append(options, nats.PingInterval(500*time.Millisecond), nats.MaxPingsOutstanding(3))...)
	return js
}

// add writes until it is acknowledged, and gives the message's number.
func add(t *testing.T, s *engines.Set, js jetstream.JetStream, text string) (seq uint64) {
	t.Helper()
	s.Await("an acknowledgement", func() bool {
		ack, err := js.Publish(t.Context(), stream, []byte(text), jetstream.WithRetryAttempts(0))
		if err == nil {
			seq = ack.Sequence
		}
		return err == nil
	})
	return seq
}

func TestLeaderKilledAndWiped(t *testing.T) {
	t.Parallel()
	s := engines.Start(t, 3)
	js := keep(t, s, 3)
	add(t, s, js, "one")
	killed := s.AwaitLeader(stream)
	s.Kill(killed)
	if s.Running(killed) {
		t.Error("a node that was killed still runs")
	}
	seq := add(t, s, js, "two")
	if now := s.AwaitLeader(stream); now == killed {
		t.Errorf("the node that was killed still leads: %d", now)
	}
	s.Wipe(killed)
	s.Restart(killed)
	s.AwaitHead(killed, stream, seq)
	s.Kill((killed + 1) % 3)
	add(t, s, js, "three") // two of three are enough only if the emptied one counts
}

// Gossip must not lead round a cable that was cut: else a node that is cut off would be no such thing.
func TestLeaderCutOff(t *testing.T) {
	t.Parallel()
	s := engines.Start(t, 3)
	js := keep(t, s, 3)
	add(t, s, js, "one")
	off := s.AwaitLeader(stream)
	s.CutOff(off)
	beside := client(t, []string{s.URLs()[(off+1)%3]})
	seq := add(t, s, beside, "two")
	ctx, done := context.WithTimeout(t.Context(), 2*time.Second)
	defer done()
	alone := client(t, []string{s.URLs()[off]})
	if _, err := alone.Publish(ctx, stream, []byte("alone"), jetstream.WithRetryAttempts(0)); err == nil {
		t.Error("a node that is cut off acknowledged a message")
	}
	s.JoinAll()
	s.AwaitHead(off, stream, seq)
}

func TestClientCutOffAndNodePaused(t *testing.T) {
	t.Parallel()
	s := engines.StartWith(t, engines.Options{Nodes: 1, Secret: "a text that only tests know"})
	keep(t, s, 1)
	js := client(t, s.Through("hall A"), s.Dial()...)
	add(t, s, js, "one")
	refused := func(why string) {
		t.Helper()
		ctx, done := context.WithTimeout(t.Context(), time.Second)
		defer done()
		if _, err := js.Publish(ctx, stream, []byte("lost")); err == nil {
			t.Errorf("%s, a message was acknowledged", why)
		}
	}
	s.CutClient("hall A", 0)
	refused("with the cable cut")
	s.JoinClient("hall A", 0)
	add(t, s, js, "two")
	s.Pause(0)
	refused("by a node that stands still")
	s.Resume(0)
	add(t, s, js, "three")
	s.Stop(0)
	s.Restart(0)
	add(t, s, js, "four")
	if _, err := nats.Connect(s.URLs()[0], nats.Timeout(5*time.Second)); err == nil ||
		errors.Is(err, nats.ErrTimeout) {
		t.Errorf("without the secret: %v, want to be refused", err)
	}
}

// A node that is asked to end hands over what it leads before it is gone, so nobody waits for an election by
// time-out.
func TestStoppedLeaderHandsOver(t *testing.T) {
	t.Parallel()
	s := engines.Start(t, 3)
	js := keep(t, s, 3)
	add(t, s, js, "one")
	stopped := s.AwaitLeader(stream)
	beside := client(t, []string{s.URLs()[(stopped+1)%3]})
	add(t, s, beside, "two")
	begin := time.Now()
	s.Stop(stopped)
	gone := time.Since(begin)
	add(t, s, beside, "three")
	t.Logf("gone after %v, written again after %v", gone, time.Since(begin))
	if log := s.Log(stopped); !strings.Contains(log, "Shutdown") {
		t.Errorf("the node did not end as it should: %s", log)
	}
}

// forever is the environment variable that makes the next test the one that is killed.
const forever = "TALLYWALK_TEST_FOREVER"

// A test that is killed leaves no node: here another process of this binary plays the test.
func TestNodesEndWithTheTest(t *testing.T) {
	t.Parallel()
	if os.Getenv(forever) != "" {
		fmt.Println("node at " + engines.Start(t, 1).URLs()[0])
		select {}
	}
	test := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v")
	test.Env = append(os.Environ(), forever+"=1")
	out, err := test.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := test.Start(); err != nil {
		t.Fatal(err)
	}
	url := ""
	for lines := bufio.NewScanner(out); url == "" && lines.Scan(); {
		_, url, _ = strings.Cut(lines.Text(), "node at ")
	}
	if nc, err := nats.Connect(url); err != nil {
		t.Errorf("the node at %q: %v", url, err)
	} else {
		nc.Close()
	}
	if err := test.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = test.Wait()
	end, look := time.NewTimer(time.Minute), time.NewTicker(20*time.Millisecond)
	defer end.Stop()
	defer look.Stop()
	for {
		nc, err := nats.Connect(url)
		if err != nil {
			return
		}
		nc.Close()
		select {
		case <-look.C:
		case <-end.C:
			t.Fatal("the node outlives the test that began it")
		}
	}
}
