package engines

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// node is one node, whether or not it runs.
type node struct {
	settings settings
	log      string // file with what all its processes said
	cmd      *exec.Cmd
	stdin    io.Closer
	done     chan struct{} // closed when the process has ended
}

// start begins the node's process.
func (n *node) start(t testing.TB) {
	t.Helper()
	if n.running() {
		t.Fatalf("node %s runs already", n.settings.Name)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(n.settings)
	if err != nil {
		t.Fatal(err)
	}
	log, err := os.OpenFile(n.log, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = log.Close() }() // the process has it by then
	n.cmd = exec.Command(self)
	n.cmd.Env = append(os.Environ(), asNode+"="+string(text))
	n.cmd.Stdout, n.cmd.Stderr = log, log
	if n.stdin, err = n.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	if err := begin(n.cmd); err != nil {
		t.Fatalf("node %s: %v", n.settings.Name, err)
	}
	n.done = make(chan struct{})
	go func(cmd *exec.Cmd, done chan struct{}) {
		_ = cmd.Wait() // how it ended is in its log
		close(done)
	}(n.cmd, n.done)
}

func (n *node) running() bool {
	if n.cmd == nil {
		return false
	}
	select {
	case <-n.done:
		return false
	default:
		return true
	}
}

// end ends the process and waits for that: at once, or after it has handed over what it leads.
func (n *node) end(atOnce bool) {
	if n.cmd == nil {
		return
	}
	if atOnce {
		_ = n.cmd.Process.Kill()
	} else {
		_ = n.cmd.Process.Signal(syscall.SIGTERM)
	}
	<-n.done
	_ = n.stdin.Close()
}

// tail is the end of what the node's processes said.
func (n *node) tail() string {
	text, err := os.ReadFile(n.log)
	if err != nil {
		return err.Error()
	}
	lines := strings.Split(string(bytes.TrimSpace(text)), "\n")
	return strings.Join(lines[max(0, len(lines)-60):], "\n")
}

// logIn is where a node's processes say what they do.
func logIn(dir, name string) string { return filepath.Join(dir, name+".log") }
