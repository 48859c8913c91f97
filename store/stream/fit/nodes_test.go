package fit_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"tallywalk/store/storetest/engines"
	"tallywalk/store/stream/fit"
)

// others runs a node that is none of this program's, in this process, and gives its monitoring address.
func others(t *testing.T, set func(*server.Options)) (url, monitor string) {
	t.Helper()
	o := &server.Options{
		ServerName: "other", Host: "127.0.0.1", Port: -1, HTTPHost: "127.0.0.1", HTTPPort: -1, NoLog: true,
		NoSigs:    true,
		JetStream: true, StoreDir: t.TempDir(), SyncAlways: true,
	}
	if set != nil {
		set(o)
	}
	s, err := server.NewServer(o)
	if err != nil {
		t.Fatal(err)
	}
	go s.Start()
	if !s.ReadyForConnections(time.Minute) {
		t.Fatal("the other engine does not start")
	}
	t.Cleanup(func() { s.Shutdown(); s.WaitForShutdown() })
	return s.ClientURL(), "http://" + s.MonitorAddr().String()
}

func TestNodeSetOtherwise(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what  string
		wrong func(*server.Options)
		want  []string
	}{
		{"not synchronous", func(o *server.Options) { o.SyncAlways = false },
			[]string{"other: ", "sync_interval to always"}},
		{"small messages", func(o *server.Options) { o.MaxPayload = group - 1 },
			[]string{"max_payload to 8MB", "524287 bytes"}},
		{"no streams", func(o *server.Options) { o.JetStream = false }, []string{"jetstream on"}},
	} {
		t.Run(c.what, func(t *testing.T) {
			_, monitor := others(t, c.wrong)
			good, _ := others(t, nil)
			nc, js := engines.Connect(t, []string{good})
			if _, err := js.CreateStream(t.Context(), fit.Config(shop, 1)); err != nil {
				t.Fatal(err)
			}
			wantRefusal(t, fit.Check(t.Context(), nc, shop, group, fit.Monitors(monitor)), c.want...)
		})
	}
}

func TestUnseenNodes(t *testing.T) {
	t.Parallel()
	at, monitor := others(t, nil)
	nc, js := engines.Connect(t, []string{at})
	if _, err := js.CreateStream(t.Context(), fit.Config(shop, 1)); err != nil {
		t.Fatal(err)
	}
	if err := fit.Check(t.Context(), nc, shop, group); !errors.Is(err, fit.ErrUnseen) {
		t.Errorf("nobody says how the node is set: %v, want ErrUnseen", err)
	}
	if err := fit.Make(t.Context(), nc, "NEXT", 1); !errors.Is(err, fit.ErrUnseen) {
		t.Errorf("a stream was made on a node that nobody sees: %v, want ErrUnseen", err)
	}
	for what, option := range map[string]fit.Option{"vouched for": fit.Unseen(),
		"monitored": fit.Monitors(monitor + "/")} {
		if err := fit.Check(t.Context(), nc, shop, group, option); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	wantRefusal(t, fit.Check(t.Context(), nc, shop, 2<<20, fit.Unseen()), "max_payload")
	closed := "http://" + freed(t)
	if err := fit.Check(t.Context(), nc, shop, group, fit.Monitors(closed)); !errors.Is(err, fit.ErrUnseen) {
		t.Errorf("no monitoring address answers: %v, want ErrUnseen", err)
	}
	wantRefusal(t, fit.Check(t.Context(), nc, shop, group, fit.Monitors(monitor, closed)),
		"1 of 2 nodes answer")
}

// freed is an address that nobody listens on.
func freed(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// Nodes that name the others alone are the usual way to set the engine up, and lose the record when two disks
// are emptied.
func TestNodesThatLeaveThemselvesOut(t *testing.T) {
	t.Parallel()
	var ports []int
	for range 3 {
		_, port, _ := net.SplitHostPort(freed(t))
		n, _ := strconv.Atoi(port)
		ports = append(ports, n)
	}
	var urls, monitors []string
	for i, port := range ports {
		at, monitor := others(t, func(o *server.Options) {
			o.ServerName = fmt.Sprintf("other-%d", i)
			o.Cluster = server.ClusterOpts{Name: "others", Host: "127.0.0.1", Port: port}
			for _, p := range ports {
				if p != port {
					o.Routes = append(o.Routes,
						&url.URL{Scheme: "nats", Host: fmt.Sprintf("127.0.0.1:%d", p)})
				}
			}
		})
		urls, monitors = append(urls, at), append(monitors, monitor)
	}
	nc, js := engines.Connect(t, urls)
	set := engines.Start(t, 1) // for its Await
	set.Await("the stream is made", func() bool {
		_, err := js.CreateStream(t.Context(), fit.Config(shop, 3))
		return err == nil
	})
	err := fit.Check(t.Context(), nc, shop, group, fit.Monitors(monitors...))
	wantRefusal(t, err, "other-0: its routes name 2 nodes", "other-1: ", "other-2: ", "itself included")
}

// The versions are invented; the rest is what a real node says of itself.
func TestVersions(t *testing.T) {
	t.Parallel()
	at, monitor := others(t, nil)
	nc, js := engines.Connect(t, []string{at})
	if _, err := js.CreateStream(t.Context(), fit.Config(shop, 1)); err != nil {
		t.Fatal(err)
	}
	var version atomic.Value
	fake := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		res, err := http.Get(monitor + r.URL.Path)
		if err != nil {
			t.Error(err)
			return
		}
		defer res.Body.Close()
		var said map[string]any
		body, _ := io.ReadAll(res.Body)
		if err := json.Unmarshal(body, &said); err != nil {
			t.Error(err)
		}
		said["version"] = version.Load()
		_ = json.NewEncoder(w).Encode(said)
	}))
	defer fake.Close()
	for v, refused := range map[string]bool{
		"2.14.7": false, "2.14.10": false, "2.15.0-RC.1": false, "3.0.0": false, "10.0.0": false,
		"2.14.6": true, "2.9.30": true, "2.14.7-RC.2": true, "1.15.3": true, "": true, "newest": true,
		"2.15": true,
	} {
		version.Store(v)
		err := fit.Check(t.Context(), nc, shop, group, fit.Monitors(fake.URL))
		if !refused && err != nil {
			t.Errorf("version %q: %v", v, err)
		}
		if refused {
			wantRefusal(t, err, "2.14.7 or later", strconv.Quote(v))
		}
	}
}
