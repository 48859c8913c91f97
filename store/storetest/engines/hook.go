// Package engines runs nodes of the engine for tests, each as a process of its own, so that a test can kill,
// stop and starve them, empty their disks and cut the network between them.
//
// A test binary is its own node: TestMain calls Hook first, and the harness starts the binary again with an
// environment variable that says what node to be. Nodes end with the test, however it ends (on Linux by the
// kernel).
//
//	func TestMain(m *testing.M) { engines.Hook(); os.Exit(m.Run()) }
//
//	set := engines.Start(t, 3)               // answers on all nodes when it returns
//	nc, err := nats.Connect(strings.Join(set.Through("hall A"), ","))
//	set.Kill(set.Leader("SHOP"))             // SIGKILL
//	set.CutClient("hall A", 1)               // its cable to node 1
package engines

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"syscall"

	"tallywalk/store/engine"
	"tallywalk/store/secret"
)

// asNode is the environment variable that makes a node of a test binary.
const asNode = "TALLYWALK_ENGINE_NODE"

// settings is what a process knows of the node that it is.
type settings struct {
	Name, Dir, Listen, Peers, Advertise, Secret string
	Routes                                      []string
}

// Hook makes this process a node, and does not return, when it was started as one; else it does nothing.
func Hook() {
	text, ok := os.LookupEnv(asNode)
	if !ok {
		return
	}
	if err := beNode(text); err != nil {
		fmt.Fprintln(os.Stderr, "node:", err)
		os.Exit(1)
	}
	os.Exit(0)
}

// beNode runs a node until it is asked to end, or the test that began it is gone.
func beNode(text string) error {
	var s settings
	if err := json.Unmarshal([]byte(text), &s); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	ctx, gone := context.WithCancel(ctx)
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin) // the test holds the other end, and the kernel closes it
		gone()
	}()
	o := engine.Options{
		Name: s.Name, Dir: s.Dir, Listen: s.Listen, Peers: s.Peers, Routes: s.Routes, Advertise: s.Advertise,
		Log: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelDebug})),
	}
	if s.Secret != "" {
		var err error
		if o.Secret, err = secret.Of(s.Secret); err != nil {
			return err
		}
	}
	e, err := engine.Start(ctx, o)
	if err != nil {
		return err
	}
	return errors.Join(e.Wait(ctx), e.Close())
}
