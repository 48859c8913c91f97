package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// killRounds is how often the program is killed.
func killRounds() int {
	if os.Getenv("TALLYWALK_LONG") != "" {
		return 500
	}
	return 20
}

// TestKill kills the real program at random moments while several clients scan,
// and proves that each acknowledged scan is there once, and the chain whole.
func TestKill(t *testing.T) {
	t.Parallel()
	k := newKiller(t)
	rng := rand.New(rand.NewPCG(7, 9))
	for i := range killRounds() {
		k.turn = i / roundsPerBatch
		k.round(time.Duration(20+rng.IntN(200)) * time.Millisecond)
	}
	if len(k.acked) < killRounds() {
		t.Fatalf("only %d scans were acknowledged", len(k.acked))
	}
	k.check()
	t.Logf("%d rounds, %d scans acknowledged, none lost", killRounds(), len(k.acked))
}

type killer struct {
	t             *testing.T
	bin, dir, tok string

	turn  int // which batches are scanned now
	mu    sync.Mutex
	acked map[string]bool
	n     int
}

func newKiller(t *testing.T) *killer {
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	k := &killer{t: t, bin: filepath.Join(t.TempDir(), "tallywalk"), dir: filepath.Join(t.TempDir(), "shop"),
		acked: map[string]bool{}}
	// testscript.Main runs the real main when the test binary goes by the name
	// of the command.
	if err := os.Symlink(exe, k.bin); err != nil {
		t.Fatal(err)
	}
	for _, list := range []string{"machines", "reasons", "people", "routes"} {
		k.run("import", list, "../../testdata/example/"+list+".csv")
	}
	k.run("import", "batches", k.batch())
	k.tok = strings.TrimSpace(k.run("token", "--role", "operator"))
	return k
}

const (
	killClients    = 6
	roundsPerBatch = 20 // no batch of a shop has thousands of scans
)

// batch writes a list with a batch for each client, large enough for all that
// is counted here.
func (k *killer) batch() string {
	name := filepath.Join(k.t.TempDir(), "batches.csv")
	list := "part,route_rev,pieces,works_order\n"
	for c := range killClients * (1 + killRounds()/roundsPerBatch) {
		list += fmt.Sprintf("1002-11,1,9000000,W-KILL-%d\n", c)
	}
	if err := os.WriteFile(name, []byte(list), 0o644); err != nil {
		k.t.Fatal(err)
	}
	return name
}

func (k *killer) run(args ...string) string {
	k.t.Helper()
	out, err := exec.Command(k.bin, append(args, "--data", k.dir)...).Output()
	if err != nil {
		k.t.Fatalf("%v: %v", args, err)
	}
	return string(out)
}

// round starts the server, lets clients scan for a while, and kills it.
func (k *killer) round(life time.Duration) {
	k.t.Helper()
	cmd := exec.Command(k.bin, "serve", "--data", k.dir, "--listen", "127.0.0.1:0")
	base := k.start(cmd)
	var clients sync.WaitGroup
	stop := make(chan struct{})
	for c := range killClients {
		clients.Go(func() { k.client(base, c, stop) })
	}
	timer := time.NewTimer(life)
	<-timer.C
	if err := cmd.Process.Kill(); err != nil {
		k.t.Error(err)
	}
	close(stop)
	clients.Wait()
	_ = cmd.Wait()
}

// start starts a server and gives its address.
func (k *killer) start(cmd *exec.Cmd) (base string) {
	k.t.Helper()
	out, err := cmd.StdoutPipe()
	if err != nil {
		k.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		k.t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	_, base, ok := strings.Cut(strings.TrimSpace(line), "answers on ")
	if err != nil || !ok {
		k.t.Fatalf("the server said %q: %v", line, err)
	}
	return base
}

// client scans until the server is gone, and notes what was acknowledged. What
// was not is sent again to the next server, as a device does.
func (k *killer) client(base string, c int, stop <-chan struct{}) {
	http := http.Client{Timeout: 5 * time.Second}
	for {
		select {
		case <-stop:
			return
		default:
		}
		k.mu.Lock()
		k.n++
		id := fmt.Sprintf("0000%04x-0000-7000-8000-%012x", c, k.n)
		k.mu.Unlock()
		body := fmt.Sprintf(
			`{"scans":[{"id":%q,"at":%q,"station":"T1","card":"W-KILL-%d","action":"count","good":1}]}`, id,
			time.Now().UTC().Format(time.RFC3339Nano), c+killClients*k.turn)
		if !k.post(&http, base, body) {
			return
		}
		k.mu.Lock()
		k.acked[id] = true
		k.mu.Unlock()
	}
}

func (k *killer) post(client *http.Client, base, body string) bool {
	req, err := http.NewRequest("POST", base+"/api/v1/scans", strings.NewReader(body))
	if err != nil {
		return false
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Authorization", "Bearer "+k.tok)
	resp, err := client.Do(req)
	if err != nil {
		return false
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	return err == nil && resp.StatusCode == 200 && bytes.Contains(raw, []byte(`"outcome":"kept"`))
}

// check reads the record back with the program's own commands.
func (k *killer) check() {
	k.t.Helper()
	k.run("verify")
	times := map[string]int{}
	sc := bufio.NewScanner(strings.NewReader(k.run("export", "scans")))
	sc.Buffer(nil, 1<<20)
	kept := 0
	for sc.Scan() {
		var line struct {
			Outcome string
			Scan    struct{ ID string }
		}
		if err := json.Unmarshal(sc.Bytes(), &line); err != nil {
			k.t.Fatal(err)
		}
		times[line.Scan.ID]++
		kept++
	}
	for id := range k.acked {
		if times[id] != 1 {
			k.t.Errorf("scan %s was acknowledged and is there %d times", id, times[id])
		}
	}
	for id, n := range times {
		if n != 1 {
			k.t.Errorf("scan %s is there %d times", id, n)
		}
	}
	if kept < len(k.acked) {
		k.t.Errorf("%d scans are there, %d were acknowledged", kept, len(k.acked))
	}
}
