package fit_test

import (
	"errors"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"tallywalk/store/storetest/engines"
	"tallywalk/store/stream/fit"
)

func TestMain(m *testing.M) {
	engines.Hook()
	os.Exit(m.Run())
}

const (
	shop  = "SHOP"
	group = 512 << 10 // bytes of the largest group of entries
)

// wantRefusal wants an error that says all of the words.
func wantRefusal(t *testing.T, err error, words ...string) {
	t.Helper()
	if err == nil {
		t.Errorf("this is let be, want a refusal with %q", words)
		return
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("the refusal does not say %q: %v", w, err)
		}
	}
}

func TestThreeNodes(t *testing.T) {
	t.Parallel()
	set := engines.StartWith(t, engines.Options{Nodes: 3, Secret: "a text that only tests know"})
	nc, js := engines.Connect(t, set.URLs(), set.Dial()...)
	ctx := t.Context()
	if err := fit.Check(ctx, nc, shop, group); !errors.Is(err, fit.ErrNoStream) {
		t.Errorf("without a stream: %v, want ErrNoStream", err)
	}
	wantRefusal(t, fit.Make(ctx, nc, shop, 5), "there are 3 nodes", "on 5")
	set.Await("the stream is made", func() bool { return fit.Make(ctx, nc, shop, 3) == nil })
	wantRefusal(t, fit.Make(ctx, nc, shop, 3), "a stream SHOP already")
	if err := fit.Check(ctx, nc, shop, group); err != nil {
		t.Errorf("as it was made: %v", err)
	}
	if _, err := fit.Bucket(ctx, nc, shop); err != nil {
		t.Errorf("the bucket: %v", err)
	}
	nodes, err := fit.Nodes(ctx, nc)
	if err != nil || len(nodes) != 3 || !nodes[2].Sync || len(nodes[2].Routes) != 3 {
		t.Errorf("nodes are %+v, %v; want three that write synchronously and know all", nodes, err)
	}
	if _, err := js.CreateStream(ctx, fit.Config("ALONE", 1)); err != nil {
		t.Fatal(err)
	}
	wantRefusal(t, fit.Check(ctx, nc, "ALONE", group), "kept on one of them", "num_replicas to 3")
	headsAndFewer(t, set, nc, js)
}

// headsAndFewer looks at what each node has, and goes on with two nodes of three, then with one.
func headsAndFewer(t *testing.T, set *engines.Set, nc *nats.Conn, js jetstream.JetStream) {
	t.Helper()
	ctx := t.Context()
	ack, err := js.Publish(ctx, fit.Subject(shop), []byte("group"))
	if err != nil {
		t.Fatal(err)
	}
	set.Await("the same head on all nodes", func() bool {
		heads, err := fit.Heads(ctx, nc, shop)
		return err == nil && heads["n0"] == ack.Sequence && heads["n1"] == ack.Sequence &&
			heads["n2"] == ack.Sequence
	})
	set.Kill(2)
	set.Await("two of three are enough to begin",
		func() bool { return fit.Check(ctx, nc, shop, group) == nil })
	set.Kill(1)
	set.Await("one of three is not", func() bool {
		err := fit.Check(ctx, nc, shop, group)
		return err != nil && strings.Contains(err.Error(), "more than half")
	})
}

func TestStreamSetOtherwise(t *testing.T) {
	t.Parallel()
	set := engines.Start(t, 1)
	nc, js := engines.Connect(t, set.URLs())
	for _, c := range []struct {
		what  string
		wrong func(*jetstream.StreamConfig)
		want  string
	}{
		{"in memory", func(c *jetstream.StreamConfig) { c.Storage = jetstream.MemoryStorage },
			"storage to file"},
		{"written later", func(c *jetstream.StreamConfig) { c.PersistMode = jetstream.AsyncPersistMode },
			"persist_mode to default"},
		{"gone when read", func(c *jetstream.StreamConfig) { c.Retention = jetstream.InterestPolicy },
			"retention to limits"},
		{"a maximum age", func(c *jetstream.StreamConfig) { c.MaxAge = time.Hour }, "max_age to 0"},
		{"ages by message", func(c *jetstream.StreamConfig) { c.AllowMsgTTL = true },
			"allow_msg_ttl to false"},
		{"a maximum of messages", func(c *jetstream.StreamConfig) { c.MaxMsgs = 9 }, "max_msgs to -1"},
		{"a maximum of bytes", func(c *jetstream.StreamConfig) { c.MaxBytes = 9000 }, "max_bytes to -1"},
		{"a maximum of a subject", func(c *jetstream.StreamConfig) { c.MaxMsgsPerSubject = 9 },
			"max_msgs_per_subject to -1"},
		{"small messages", func(c *jetstream.StreamConfig) { c.MaxMsgSize = group - 1 },
			"max_msg_size to -1"},
		{"old makes room", func(c *jetstream.StreamConfig) { c.Discard = jetstream.DiscardOld },
			"discard to new"},
		{"deletes", func(c *jetstream.StreamConfig) { c.DenyDelete = false }, "deny_delete to true"},
		{"purges", func(c *jetstream.StreamConfig) { c.DenyPurge = false }, "deny_purge to true"},
		{
			"rolled up", func(c *jetstream.StreamConfig) { c.AllowRollup, c.DenyPurge = true, false },
			"allow_rollup_hdrs to false",
		},
		{"more subjects", func(c *jetstream.StreamConfig) { c.Subjects = append(c.Subjects, "SHOP.more") },
			"SHOP.record alone"},
		{"another subject", func(c *jetstream.StreamConfig) {
			c.Subjects, c.RePublish.Source = []string{"SHOP.other"}, "SHOP.other"
		}, "SHOP.record alone"},
		{"a copy", func(c *jetstream.StreamConfig) { c.Sources = []*jetstream.StreamSource{{Name: "OTHER"}} },
			"without mirror"},
		{"other subjects inside", func(c *jetstream.StreamConfig) {
			c.SubjectTransform = &jetstream.SubjectTransformConfig{Source: "SHOP.record",
				Destination: "SHOP.inside"}
		}, "subject_transform out"},
		{"silent", func(c *jetstream.StreamConfig) { c.RePublish = nil },
			"republish from SHOP.record to SHOP.kept"},
		{"headers alone", func(c *jetstream.StreamConfig) { c.RePublish.HeadersOnly = true },
			"with the bodies"},
		{"told elsewhere", func(c *jetstream.StreamConfig) { c.RePublish.Destination = "SHOP.told" },
			"to SHOP.kept"},
		{"read from the leader", func(c *jetstream.StreamConfig) { c.AllowDirect = false },
			"allow_direct to true"},
		{"not acknowledged", func(c *jetstream.StreamConfig) { c.NoAck = true }, "no_ack to false"},
		{"sealed", func(c *jetstream.StreamConfig) { c.Sealed = true }, "sealed"},
		{"added up", func(c *jetstream.StreamConfig) {
			c.AllowMsgCounter, c.Discard = true, jetstream.DiscardOld
		}, "allow_msg_counter"},
		{"written later by plan",
			func(c *jetstream.StreamConfig) { c.AllowMsgSchedules, c.Discard = true, jetstream.DiscardOld },
			"allow_msg_schedules"},
		{"found twice", func(c *jetstream.StreamConfig) { c.Duplicates = time.Hour },
			"duplicate_window to 100ms"},
		{"begun later", func(c *jetstream.StreamConfig) { c.FirstSeq = 7 }, "begins with message 7"},
	} {
		t.Run(c.what, func(t *testing.T) {
			made := fit.Config(shop, 1)
			c.wrong(&made)
			if made.Sealed { // a stream is sealed once it is there
				if _, err := js.CreateStream(t.Context(), fit.Config(shop, 1)); err != nil {
					t.Fatal(err)
				}
			}
			if _, err := js.CreateOrUpdateStream(t.Context(), made); err != nil {
				t.Fatal(err)
			}
			wantRefusal(t, fit.Check(t.Context(), nc, shop, group), "stream SHOP is not set", c.want)
			if err := js.DeleteStream(t.Context(), shop); err != nil {
				t.Fatal(err)
			}
		})
	}
	if err := fit.Make(t.Context(), nc, shop, 1); err != nil {
		t.Error(err)
	}
	if err := fit.Check(t.Context(), nc, shop, group); err != nil {
		t.Errorf("as it was made: %v", err)
	}
	wantRefusal(t, fit.Check(t.Context(), nc, shop, 9<<20), "n0", "max_payload")
	for _, name := range []string{"", "A B", "A.B", "A>", "*"} {
		wantRefusal(t, fit.Make(t.Context(), nc, name, 1), "letters, digits")
	}
	wantRefusal(t, fit.Make(t.Context(), nc, "TWO", 2), "1, 3 or 5")
}

func TestGapsRefused(t *testing.T) {
	t.Parallel()
	set := engines.Start(t, 1)
	nc, js := engines.Connect(t, set.URLs())
	open := fit.Config(shop, 1)
	open.DenyDelete = false
	for _, c := range []struct {
		gone uint64
		want string
	}{{1, "begins with message 2"}, {2, "1 messages were taken out"}} {
		str, err := js.CreateStream(t.Context(), open)
		if err != nil {
			t.Fatal(err)
		}
		for range 3 {
			if _, err := js.Publish(t.Context(), fit.Subject(shop), []byte("group")); err != nil {
				t.Fatal(err)
			}
		}
		err = str.DeleteMsg(t.Context(), c.gone)
		wantRefusal(t, fit.Check(t.Context(), nc, shop, group), c.want)
		if err = errors.Join(err, js.DeleteStream(t.Context(), shop)); err != nil {
			t.Fatal(err)
		}
	}
}

func TestBucketSetOtherwise(t *testing.T) {
	t.Parallel()
	set := engines.Start(t, 1)
	nc, js := engines.Connect(t, set.URLs())
	if _, err := fit.Bucket(t.Context(), nc, shop); !errors.Is(err, fit.ErrNoStream) {
		t.Errorf("without a record: %v, want ErrNoStream", err)
	}
	if err := fit.Make(t.Context(), nc, shop, 1); err != nil {
		t.Fatal(err)
	}
	name := fit.BucketName(shop)
	for _, c := range []struct {
		what  string
		wrong jetstream.KeyValueConfig
		want  string
	}{
		{"in memory", jetstream.KeyValueConfig{Storage: jetstream.MemoryStorage}, "storage to file"},
		{"a history", jetstream.KeyValueConfig{History: 2}, "history to 1"},
		{"a time to live", jetstream.KeyValueConfig{TTL: time.Hour}, "time to live to 0"},
		{"a maximum of bytes", jetstream.KeyValueConfig{MaxBytes: 9000}, "max_bytes to -1"},
		{"small values", jetstream.KeyValueConfig{MaxValueSize: 9000}, "max_msg_size to"},
		{"a copy", jetstream.KeyValueConfig{Mirror: &jetstream.StreamSource{Name: "OTHER"}},
			"without mirror"},
	} {
		t.Run(c.what, func(t *testing.T) {
			c.wrong.Bucket = name
			if _, err := js.CreateKeyValue(t.Context(), c.wrong); err != nil {
				t.Fatal(err)
			}
			_, err := fit.Bucket(t.Context(), nc, shop)
			wantRefusal(t, err, "bucket SHOP-tables is not set", c.want)
			if err := js.DeleteKeyValue(t.Context(), name); err != nil {
				t.Fatal(err)
			}
		})
	}
	for range 2 { // made, then opened
		kv, err := fit.Bucket(t.Context(), nc, shop)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := kv.Put(t.Context(), "key", make([]byte, 5<<20)); err != nil {
			t.Errorf("a picture of 5 MB: %v", err)
		}
	}
}
