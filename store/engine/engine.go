//go:build !noengine

package engine

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/nats-io/nats-server/v2/server"
)

const (
	begun = 50 * time.Millisecond // how long is waited between two looks at whether a node has begun
	// watched is how long is waited between two looks at whether the node still keeps what it is given.
	watched = time.Second
	// peersPing is how often a node asks another whether it is there; two unanswered end the connection, so
	// that a pulled plug is noticed although no connection was closed.
	peersPing = 2 * time.Second
	maxMemory = 256 << 20 // bytes for streams in memory, of which there are none
	maxStore  = 1 << 50   // bytes for streams on the disk: as many as there are, see the package comment
)

// Engine is a node that runs.
type Engine struct {
	srv  *server.Server
	lock *lock
	log  *logger
	own  Options
}

// Start starts a node and returns once it answers; it may still look for the others then. It fails, in words
// for the one who called it, when the options are not right, the folder is on a network share, in use or
// another node's, a port is in use, the files in the folder cannot be read, or ctx ends first.
func Start(ctx context.Context, o Options) (*Engine, error) {
	if err := errors.Join(ctx.Err(), o.check()); err != nil {
		return nil, err
	}
	for _, address := range []string{o.Listen, o.Peers} {
		if err := free(ctx, address); err != nil {
			return nil, err
		}
	}
	folder, err := lockFolder(o.Dir, o.Name)
	if err != nil {
		return nil, err
	}
	e := &Engine{lock: folder, log: newLogger(cmp.Or(o.Log, slog.New(slog.DiscardHandler))), own: o}
	if err := e.start(ctx); err != nil {
		return nil, errors.Join(err, folder.release())
	}
	return e, nil
}

// free refuses an address that something else listens on, before the engine finds out in its own words.
func free(ctx context.Context, address string) error {
	if address == "" {
		return nil
	}
	l, err := new(net.ListenConfig).Listen(ctx, "tcp", address)
	if err != nil {
		return fmt.Errorf("nothing can listen on %s: %w; is a node running there already? Choose another "+
			"port with --listen or --cluster",
			address, err)
	}
	return l.Close()
}

func (e *Engine) start(ctx context.Context) error {
	settings, err := e.own.settings()
	if err != nil {
		return err
	}
	e.srv, err = server.NewServer(settings)
	if err != nil {
		return fmt.Errorf("the engine refuses its settings: %w", err)
	}
	e.srv.SetLoggerV2(e.log, false, false, false)
	go e.srv.Start()
	for !e.srv.ReadyForConnections(begun) {
		select {
		case err := <-e.log.fatal:
			e.srv.Shutdown()
			return fmt.Errorf("the engine did not start: %w", err)
		case <-ctx.Done():
			e.srv.Shutdown()
			e.srv.WaitForShutdown()
			return ctx.Err()
		default:
		}
	}
	if !e.srv.JetStreamEnabled() {
		e.srv.Shutdown()
		return fmt.Errorf("the engine cannot use its files in %s", e.own.Dir)
	}
	return nil
}

// settings are the options as the engine takes them.
func (o Options) settings() (*server.Options, error) {
	host, port, err := splitAddress(o.Listen)
	if err != nil {
		return nil, err
	}
	s := &server.Options{
		ServerName: o.Name, Host: host, Port: enginePort(port), NoSigs: true, DisableJetStreamBanner: true,
		MaxPayload: MaxPayload, JetStream: true, JetStreamMaxMemory: maxMemory,
		JetStreamMaxStore: maxStore, StoreDir: o.Dir, SyncAlways: true,
		TLSConfig: o.Secret.TLS(), TLS: o.Secret != nil, TLSVerify: o.Secret != nil, TLSTimeout: 5,
	}
	if s.Accounts, err = accounts(); err != nil || o.Peers == "" {
		return s, err
	}
	host, port, err = splitAddress(o.Peers)
	if err != nil {
		return nil, err
	}
	s.Cluster = server.ClusterOpts{
		Name: Cluster, Host: host, Port: enginePort(port), Advertise: o.Advertise, NoAdvertise: true,
		PingInterval: peersPing, MaxPingsOut: 2, TLSConfig: o.Secret.TLS(), TLSTimeout: 5,
	}
	s.Routes, err = o.routes()
	return s, err
}

// enginePort is a port as the engine takes it, where 0 means its usual one and -1 any.
func enginePort(port int) int { return cmp.Or(port, server.RANDOM_PORT) }

// accounts are the engine's system account and the one that clients are in, which may ask all nodes how they
// are set and what they have. They are given to the engine before it starts, so that the first client can
// ask.
func accounts() ([]*server.Account, error) {
	system, record := server.NewAccount(server.DEFAULT_SYSTEM_ACCOUNT), server.NewAccount(
		server.DEFAULT_GLOBAL_ACCOUNT)
	for ours, its := range map[string]string{Nodes: "VARZ", Streams: "JSZ"} {
		its = "$SYS.REQ.SERVER.PING." + its
		if err := system.AddServiceExportWithResponse(its, server.Streamed,
			[]*server.Account{record}); err != nil {
			return nil, fmt.Errorf("the engine's system account does not answer: %w", err)
		}
		if err := record.AddServiceImport(system, ours, its); err != nil {
			return nil, fmt.Errorf("the engine's system account cannot be asked: %w", err)
		}
	}
	return []*server.Account{system, record}, nil
}

// URL is where a client on this computer finds the node.
func (e *Engine) URL() string {
	host, _, _ := splitAddress(e.own.Listen)
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	at := e.srv.Addr().(*net.TCPAddr)
	return (&url.URL{Scheme: "nats", Host: net.JoinHostPort(host, strconv.Itoa(at.Port))}).String()
}

// Wait waits until ctx ends, and gives nil then. It fails when the node has given up by itself, with the
// reason if there is one.
func (e *Engine) Wait(ctx context.Context) error {
	look := time.NewTicker(watched)
	defer look.Stop()
	group := ""
	for {
		select {
		case <-ctx.Done():
			return nil
		case err := <-e.log.fatal:
			return fmt.Errorf("the engine has given up: %w", err)
		case <-look.C:
			if !e.srv.Running() || !e.srv.JetStreamEnabled() {
				return fmt.Errorf("the engine keeps nothing any more; is the disk of %s full or damaged? "+
					"The lines before this one say more. "+
					"The other nodes go on; start this one again when the disk is well", e.own.Dir)
			}
			group = e.logNodes(group)
		}
	}
}

// logNodes logs which other nodes this one reaches and who leads them, when that is not what it was.
func (e *Engine) logNodes(was string) (group string) {
	if e.own.Peers == "" {
		return was
	}
	reached, leader := []string{}, ""
	if z, err := e.srv.Routez(nil); err == nil {
		for _, r := range z.Routes {
			reached = append(reached, r.RemoteName)
		}
	}
	if z, err := e.srv.Jsz(nil); err == nil && z.Meta != nil {
		leader = z.Meta.Leader
	}
	slices.Sort(reached)
	reached = slices.Compact(reached)
	group = fmt.Sprint(reached, leader)
	if group != was {
		e.log.log.Info("nodes", "this", e.own.Name, "reaches", strings.Join(reached, " "), "of",
			len(e.own.Routes)-1,
			"leader", cmp.Or(leader, "none yet: more than half of all nodes must be there"))
	}
	return group
}

// Close stops the node: what it leads is handed over to other nodes first, then its files are closed. It
// fails when the folder's lock cannot be given back.
func (e *Engine) Close() error {
	e.srv.Shutdown()
	e.srv.WaitForShutdown()
	return e.lock.release()
}
