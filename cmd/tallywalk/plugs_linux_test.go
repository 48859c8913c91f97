package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"tallywalk/store/storetest/engines"
)

// plugs are three engines and three servers, each a process of its own, whose plugs are
// pulled while stations scan at all of them.
type plugs struct {
	*testing.T
	set     *engines.Set
	bin     string
	tok     string
	halls   [3]*plugged
	decides atomic.Pointer[string] // name of the server that said last that it decides
	said    atomic.Pointer[string] // the newest answer that was no acknowledgement

	mu    sync.Mutex
	acked []acked
	n     int
}

// plugged is one server.
type plugged struct {
	name, dir, listen string
	cmd               *exec.Cmd
	log               *os.File
}

// acked is a scan that was acknowledged, with when it was sent and answered.
type acked struct {
	id         string
	seq        uint64
	sent, came time.Duration // since began
}

var began = time.Now()

const plugStations = 6

// plugRounds is how often a plug is pulled.
func plugRounds() int {
	if os.Getenv("TALLYWALK_LONG") != "" {
		return 200
	}
	return 3
}

// TestPlugs pulls plugs while stations scan at three servers, and proves that each
// acknowledged scan is there once, that the answers stand in one order in which they were
// given, that all servers have the same record, and that each can be verified.
func TestPlugs(t *testing.T) {
	t.Parallel()
	p := newPlugs(t)
	stop := make(chan struct{})
	var stations sync.WaitGroup
	for i := range plugStations {
		stations.Go(func() { p.station(i, stop) })
	}
	pulls := p.pulls()
	rng := rand.New(rand.NewPCG(17, 1))
	for round := range plugRounds() {
		pull := pulls[round%len(pulls)]
		p.await(pull.name+" begins", func() bool { return p.decider() >= 0 })
		p.progress(pull.name + ": before")
		pull.do(rng)
		p.progress(pull.name + ": after")
	}
	close(stop)
	stations.Wait()
	p.check()
	t.Logf("%d plugs pulled, %d scans acknowledged, none lost", plugRounds(), len(p.acked))
}

type pull struct {
	name string
	do   func(*rand.Rand)
}

// pulls are the ways to pull a plug, in turn; the first ones are those of a short run.
func (p *plugs) pulls() []pull {
	other := func(r *rand.Rand) int { return (max(p.decider(), 0) + 1 + r.IntN(2)) % 3 }
	return []pull{
		{"the server that decides is killed", func(*rand.Rand) {
			i := max(p.decider(), 0)
			p.kill(i)
			p.progress("while it is gone")
			p.start(i)
		}},
		{"the server that decides is paused", func(*rand.Rand) {
			i := max(p.decider(), 0)
			p.signal(i, syscall.SIGSTOP)
			p.progressBut(i, "while it is paused")
			p.signal(i, syscall.SIGCONT)
		}},
		{"the engine that leads is killed", func(*rand.Rand) {
			i := p.set.AwaitLeader(plugStream)
			p.set.Kill(i)
			p.progress("while it is gone")
			p.set.Restart(i)
		}},
		{"another server is killed and loses its disk", func(r *rand.Rand) {
			i := other(r)
			p.kill(i)
			p.must(os.RemoveAll(p.halls[i].dir))
			p.progress("while it is gone")
			p.start(i)
		}},
		{"two engines are killed", func(r *rand.Rand) {
			i := r.IntN(3)
			p.set.Kill(i)
			p.set.Kill((i + 1) % 3)
			p.standstill()
			p.set.Restart(i)
			p.set.Restart((i + 1) % 3)
		}},
		{"the server that decides is cut off", func(*rand.Rand) {
			i := max(p.decider(), 0)
			for n := range 3 {
				p.set.CutClient(p.halls[i].name, n)
			}
			p.progressBut(i, "while it is cut off")
			for n := range 3 {
				p.set.JoinClient(p.halls[i].name, n)
			}
		}},
		{"an engine is cut off from the others", func(*rand.Rand) {
			i := p.set.AwaitLeader(plugStream)
			p.set.CutOff(i)
			p.progress("while it is cut off")
			p.set.JoinAll()
		}},
		{"an engine loses its disk", func(r *rand.Rand) {
			i := r.IntN(3)
			p.set.Kill(i)
			p.set.Wipe(i)
			p.progress("while it is gone")
			p.set.Restart(i)
			// Until it has all again it does not count, so that no other may go.
			p.set.AwaitHead(i, plugStream, p.set.Head((i+1)%3, plugStream))
		}},
	}
}

const plugStream = "SHOP"

func newPlugs(t *testing.T) *plugs {
	p := &plugs{T: t, set: engines.Start(t, 3)}
	k := newKiller(t)
	p.bin, p.tok = k.bin, k.tok
	k.runOut("move", "--from", k.dir, "--to", strings.Join(p.set.URLs(), ","), "--stream", plugStream)
	nc, _ := engines.Connect(t, p.set.URLs())
	_, err := nc.Subscribe(plugStream+".beat", func(m *nats.Msg) {
		var b struct {
			Server string
			Writes bool
		}
		if json.Unmarshal(m.Data, &b) == nil && b.Writes {
			p.decides.Store(&b.Server)
		}
	})
	p.must(err)
	for i := range p.halls {
		ln, err := net.Listen("tcp", "127.0.0.1:0")
		p.must(err)
		h := &plugged{name: fmt.Sprint("hall", i), listen: ln.Addr().String(),
			dir: filepath.Join(t.TempDir(), "part")}
		p.must(ln.Close())
		if i == 0 {
			h.dir = k.dir
		}
		h.log, err = os.Create(filepath.Join(t.TempDir(), h.name+".log"))
		p.must(err)
		p.halls[i] = h
		p.start(i)
	}
	t.Cleanup(func() {
		for i := range p.halls {
			p.kill(i)
			if t.Failed() {
				said, _ := os.ReadFile(p.halls[i].log.Name())
				t.Logf("%s said:\n%s", p.halls[i].name, said[max(0, len(said)-300000):])
			}
			_ = p.halls[i].log.Close()
		}
	})
	return p
}

// runOut runs a command that has a folder of its own to name.
func (k *killer) runOut(args ...string) string {
	k.t.Helper()
	out, err := exec.Command(k.bin, args...).CombinedOutput()
	if err != nil {
		k.t.Fatalf("%v: %v: %s", args, err, out)
	}
	return string(out)
}

func (p *plugs) must(err error) {
	p.Helper()
	if err != nil {
		p.Fatal(err)
	}
}

// start starts a server, and waits until it answers.
func (p *plugs) start(i int) {
	p.Helper()
	h := p.halls[i]
	h.cmd = exec.Command(p.bin, "serve", "--data", h.dir, "--listen", h.listen, "--name", h.name,
		"--record", strings.Join(p.set.Through(h.name), ","), "--stream", plugStream)
	h.cmd.Stdout, h.cmd.Stderr = h.log, h.log
	h.cmd.SysProcAttr = dyingWithUs()
	p.must(h.cmd.Start())
	p.await(h.name+" answers", func() bool { return p.get(h, "/api/v1/batches") == http.StatusOK })
}

// dyingWithUs lets a process end with the test that started it.
func dyingWithUs() *syscall.SysProcAttr { return &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL} }

func (p *plugs) kill(i int) {
	h := p.halls[i]
	if h.cmd == nil {
		return
	}
	if p.Failed() && os.Getenv("STACKS") != "" {
		_ = h.cmd.Process.Signal(syscall.SIGQUIT)
		<-time.After(time.Second)
	}
	_ = h.cmd.Process.Kill()
	_ = h.cmd.Wait()
	h.cmd = nil
	p.decides.CompareAndSwap(p.decides.Load(), nil)
}

func (p *plugs) signal(i int, s syscall.Signal) {
	p.Helper()
	p.must(p.halls[i].cmd.Process.Signal(s))
}

// decider is the server that said last that it decides; -1 when none did.
func (p *plugs) decider() int {
	name := p.decides.Load()
	if name == nil {
		return -1
	}
	return slices.IndexFunc(p.halls[:], func(h *plugged) bool { return h.name == *name })
}

// await waits for a state.
func (p *plugs) await(what string, is func() bool) {
	p.Helper()
	limit := time.Now().Add(time.Minute)
	for !is() {
		if time.Now().After(limit) {
			if said := p.said.Load(); said != nil {
				what += "; a server answered " + *said
			}
			p.Fatalf("%s: never", what)
		}
		<-time.After(20 * time.Millisecond)
	}
}

func (p *plugs) count() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.acked)
}

// progress waits until some more scans are acknowledged.
func (p *plugs) progress(what string) {
	p.Helper()
	n, at := p.count(), time.Now()
	p.await(what, func() bool { return p.count() >= n+3*plugStations })
	p.Logf("%s: answered again after %v", what, time.Since(at).Round(10*time.Millisecond))
}

// progressBut does so while one server answers nobody.
func (p *plugs) progressBut(i int, what string) {
	p.progress(fmt.Sprint(what, " (", p.halls[i].name, ")"))
}

// standstill proves that nothing is acknowledged, and that boards are read.
func (p *plugs) standstill() {
	p.Helper()
	// What was on its way may still be answered.
	<-time.After(3 * time.Second)
	n := p.count()
	for range 20 {
		for _, h := range p.halls {
			if code := p.get(h, "/api/v1/batches"); code != http.StatusOK {
				p.Errorf("%s answers %d while two engines are gone", h.name, code)
			}
		}
		<-time.After(100 * time.Millisecond)
	}
	if more := p.count() - n; more > 0 {
		p.Errorf("%d scans were acknowledged while two engines were gone", more)
	}
}

func (p *plugs) get(h *plugged, path string) int {
	req, err := http.NewRequest("GET", "http://"+h.listen+path, nil)
	p.must(err)
	req.Header.Set("Authorization", "Bearer "+p.tok)
	resp, err := (&http.Client{Timeout: 5 * time.Second}).Do(req)
	if err != nil {
		return 0
	}
	_ = resp.Body.Close()
	return resp.StatusCode
}

// station scans, and sends what was not answered to the next server, as a station does.
func (p *plugs) station(c int, stop <-chan struct{}) {
	client := http.Client{Timeout: 4 * time.Second}
	for at := c; ; {
		p.mu.Lock()
		p.n++
		id := fmt.Sprintf("0000%04x-0000-7000-8000-%012x", c, p.n)
		p.mu.Unlock()
		body := fmt.Sprintf(
			`{"scans":[{"id":%q,"at":%q,"station":"T1","card":"W-KILL-%d","action":"count","good":1}]}`,
			id, time.Now().UTC().Format(time.RFC3339Nano), c)
		sent := time.Since(began)
		for {
			if seq, ok := p.post(&client, p.halls[at%3], body); ok {
				p.mu.Lock()
				p.acked = append(p.acked, acked{id, seq, sent, time.Since(began)})
				p.mu.Unlock()
				break
			}
			at++
			select {
			case <-stop:
				return
			case <-time.After(20 * time.Millisecond):
			}
		}
		select {
		case <-stop:
			return
		default:
		}
	}
}

func (p *plugs) post(client *http.Client, h *plugged, body string) (seq uint64, ok bool) {
	req, err := http.NewRequest("POST", "http://"+h.listen+"/api/v1/scans", strings.NewReader(body))
	if err != nil {
		return 0, false
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Authorization", "Bearer "+p.tok)
	resp, err := client.Do(req)
	if err != nil {
		return 0, false
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != 200 || !bytes.Contains(raw, []byte(`"outcome":"kept"`)) {
		said := fmt.Sprintf("%s: %d %s", h.name, resp.StatusCode, raw)
		p.said.Store(&said)
		return 0, false
	}
	var got struct{ Results []struct{ Seq uint64 } }
	if json.Unmarshal(raw, &got) != nil || len(got.Results) != 1 {
		return 0, false
	}
	return got.Results[0].Seq, true
}

// check compares what the servers have with what was acknowledged.
func (p *plugs) check() {
	p.Helper()
	var records [3]string
	p.await("all servers have the same record", func() bool {
		for i, h := range p.halls {
			out, err := exec.Command(p.bin, "export", "scans", "--data", h.dir).Output()
			if err != nil {
				return false
			}
			records[i] = string(out)
		}
		return records[0] == records[1] && records[1] == records[2]
	})
	for _, h := range p.halls {
		if out, err := exec.Command(p.bin, "verify", "--data", h.dir).CombinedOutput(); err != nil {
			p.Errorf("%s: %v: %s", h.name, err, out)
		}
	}
	seqs := map[string]uint64{}
	sc := bufio.NewScanner(strings.NewReader(records[0]))
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		var line struct {
			Seq  uint64
			Scan struct{ ID string }
		}
		p.must(json.Unmarshal(sc.Bytes(), &line))
		if seqs[line.Scan.ID] != 0 {
			p.Errorf("scan %s is there twice", line.Scan.ID)
		}
		seqs[line.Scan.ID] = line.Seq
	}
	for _, a := range p.acked {
		if seqs[a.id] != a.seq {
			p.Errorf("scan %s was acknowledged as %d and is %d", a.id, a.seq, seqs[a.id])
		}
	}
	p.linear()
}

// linear holds the answers to one order: a scan that was sent after another was answered
// stands after it. For a record that is only added to, whose answers say where, that is
// what linearizable means.
func (p *plugs) linear() {
	p.Helper()
	byStart := slices.Clone(p.acked)
	slices.SortFunc(byStart, func(a, b acked) int { return int(a.sent - b.sent) })
	byEnd := slices.Clone(p.acked)
	slices.SortFunc(byEnd, func(a, b acked) int { return int(a.came - b.came) })
	var newest acked // of those that were answered before
	for _, a := range byStart {
		for len(byEnd) > 0 && byEnd[0].came < a.sent {
			if byEnd[0].seq > newest.seq {
				newest = byEnd[0]
			}
			byEnd = byEnd[1:]
		}
		if a.seq < newest.seq {
			p.Errorf("scan %s is %d and was sent after %d was answered", a.id, a.seq, newest.seq)
		}
	}
}
