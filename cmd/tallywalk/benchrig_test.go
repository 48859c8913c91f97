package main

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// served is a program that answers requests, in a process of its own: it has
// the memory limit and the collector of `serve`, and its time on the processor
// is not mixed with that of the clients.
type served struct {
	b      *testing.B
	cmd    *exec.Cmd
	addr   string
	auth   string // the Authorization header; empty for none
	office string // the token of a supervisor
}

// benchCommand is this test binary under the name of a command; see TestMain.
func benchCommand(b *testing.B, name string) string {
	b.Helper()
	exe, err := os.Executable()
	if err != nil {
		b.Fatal(err)
	}
	link := filepath.Join(b.TempDir(), name)
	if err := os.Symlink(exe, link); err != nil {
		b.Fatal(err)
	}
	return link
}

// serveBench starts a command that says "answers on URL", and ends it with the
// benchmark.
func serveBench(b *testing.B, name string, args ...string) *served {
	b.Helper()
	s := &served{b: b, cmd: exec.Command(benchCommand(b, name), args...)}
	s.cmd.Stderr = os.Stderr
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		_ = s.cmd.Process.Signal(os.Interrupt)
		_ = s.cmd.Wait()
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	_, addr, ok := strings.Cut(strings.TrimSpace(line), "answers on http://")
	if err != nil || !ok {
		b.Fatalf("%s said %q: %v", name, line, err)
	}
	s.addr = addr
	return s
}

// busy is the time that the program has been on the processor, by the kernel's
// ticks of 10 ms (proc(5)); 0 where there is no /proc.
func (s *served) busy() time.Duration {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", s.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	f := bytes.Fields(stat[bytes.LastIndexByte(stat, ')')+1:])
	var ticks int
	for _, x := range f[11:13] {
		n, err := strconv.Atoi(string(x))
		if err != nil {
			s.b.Fatal(err)
		}
		ticks += n
	}
	return time.Duration(ticks) * 10 * time.Millisecond
}

// serveShop starts `tallywalk serve` with the example's machines and routes and
// so many batches, W-0 and on, and signs in with a token.
func serveShop(b *testing.B, batches, pieces int) *served {
	b.Helper()
	bin, dir := benchCommand(b, "tallywalk"), filepath.Join(b.TempDir(), "shop")
	tool := func(args ...string) string {
		out, err := exec.Command(bin, append(args, "--data", dir)...).Output()
		if err != nil {
			b.Fatalf("%v: %v", args, err)
		}
		return strings.TrimSpace(string(out))
	}
	list := "part,route_rev,pieces,works_order,due\n"
	for i := range batches {
		list += fmt.Sprintf("1002-11,1,%d,W-%d,2036-03-%02d\n", pieces, i, 1+i%28)
	}
	file := filepath.Join(b.TempDir(), "batches.csv")
	if err := os.WriteFile(file, []byte(list), 0o600); err != nil {
		b.Fatal(err)
	}
	tool("import", "machines", "../../testdata/example/machines.csv")
	tool("import", "routes", "../../testdata/example/routes.csv")
	tool("import", "batches", file)
	auth := "Bearer " + tool("token", "--role", "operator", "--name", "bench")
	office := "Bearer " + tool("token", "--role", "supervisor", "--name", "office")
	s := serveBench(b, "tallywalk", "serve", "--data", dir, "--listen", "127.0.0.1:0", "--zone", "UTC")
	s.auth, s.office = auth, office
	return s
}
