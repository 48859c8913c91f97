package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A service says what it does in the order that a manager expects: starting, running
// once the server answers, stopping when it is asked to; and ends with the program.
func TestManaged(t *testing.T) {
	asked, said := make(chan string), make(chan serviceState, 9)
	meaning := func(s string) managerAsks {
		return map[string]managerAsks{"how": asksState, "end": asksStop}[s]
	}
	serve := func(ctx context.Context, ready func()) int {
		ready()
		ready()
		<-ctx.Done()
		return 0
	}
	code := make(chan int)
	go func() { code <- managed(asked, meaning, func(s serviceState) { said <- s }, serve) }()
	got := []serviceState{<-said, <-said}
	asked <- "what else"
	asked <- "how"
	got = append(got, <-said)
	asked <- "end"
	got = append(got, <-said)
	if c := <-code; c != 0 {
		t.Errorf("status %d", c)
	}
	if want := []serviceState{isStarting, isRunning, isRunning, isStopping}; !slices.Equal(got, want) ||
		len(said) != 0 {
		t.Errorf("said %v, then %d more", got, len(said))
	}

	// One that cannot serve ends with its status, and never says that it runs.
	fails := func(context.Context, func()) int { return 1 }
	if c := managed(asked, meaning, func(s serviceState) { said <- s }, fails); c != 1 || len(said) != 1 ||
		<-said != isStarting {
		t.Errorf("status %d", c)
	}

	// One that is asked to end before it answers does not say that it runs afterwards.
	late := func(ctx context.Context, ready func()) int {
		<-ctx.Done()
		ready()
		return 0
	}
	go func() { code <- managed(asked, meaning, func(s serviceState) { said <- s }, late) }()
	asked <- "end"
	<-code
	if got := []serviceState{<-said, <-said}; !slices.Equal(got, []serviceState{isStarting, isStopping}) ||
		len(said) != 0 {
		t.Errorf("said %v, then %d more", got, len(said))
	}
}

// The real server runs and ends so, as it does under the manager of services.
func TestManagedServer(t *testing.T) {
	t.Parallel()
	asked, said := make(chan managerAsks), make(chan serviceState, 9)
	h := realHost()
	name := logOf([]string{"serve", "--data=" + t.TempDir()}, "")
	code := make(chan int)
	go func() {
		code <- managed(asked, func(a managerAsks) managerAsks { return a },
			func(s serviceState) { said <- s }, func(ctx context.Context, ready func()) int {
				log, err := serviceLog(name)
				if err != nil {
					t.Error(err)
					return 1
				}
				defer log.Close()
				h.ctx, h.out, h.err, h.ready = ctx, log, log, func(string) { ready() }
				return run([]string{"serve", "--data", filepath.Dir(name), "--listen", "127.0.0.1:0"}, h)
			})
	}()
	for _, want := range []serviceState{isStarting, isRunning} {
		if got := <-said; got != want {
			t.Fatalf("said %d, not %d", got, want)
		}
	}
	asked <- asksStop
	if c := <-code; c != 0 {
		t.Errorf("status %d", c)
	}
	text, err := os.ReadFile(name)
	if err != nil || !strings.Contains(string(text), "answers on http://127.0.0.1:") ||
		!strings.Contains(string(text), "First account, once") {
		t.Errorf("the log: %q, %v", text, err)
	}
}

// A log that has become long is kept as the one before, and another begun.
func TestServiceLog(t *testing.T) {
	name := filepath.Join(t.TempDir(), "data", serviceLogName)
	write := func(text string) {
		t.Helper()
		f, err := serviceLog(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.WriteString(text); err != nil || f.Close() != nil {
			t.Fatal(err)
		}
	}
	write("one\n")
	write("two\n")
	if text, err := os.ReadFile(name); err != nil || string(text) != "one\ntwo\n" {
		t.Errorf("%q, %v", text, err)
	}
	write(strings.Repeat("x", serviceLogMax))
	write("three\n")
	text, err := os.ReadFile(name)
	if before, e := os.Stat(name + ".before"); err != nil || e != nil || string(text) != "three\n" ||
		before.Size() != serviceLogMax+8 {
		t.Errorf("%d bytes, %v, %v", len(text), err, e)
	}
	if got := logOf([]string{"serve", "--listen", ":80", "--data"}, "/opt"); got != "/opt/tallywalk.log" {
		t.Errorf("without a folder: %s", got)
	}
	if got := logOf([]string{"engine", "--data", "/srv/shop"},
		"/opt"); got != "/srv/shop/tallywalk-engine.log" {
		t.Errorf("of a node in the folder of a server: %s", got)
	}
}

// The unit files are read by systemd's own reader, and its own judge of what a service may
// do finds little: `systemd-analyze security` gives 0 to a service that may do nothing,
// 9.6 to one that says nothing; below 2 it says OK.
func TestUnitFile(t *testing.T) {
	program, err := os.Executable() // one that is there and can be run
	if err != nil {
		t.Fatal(err)
	}
	for _, options := range [][]string{
		{"--data", "/var/lib/tallywalk", "--listen", "0.0.0.0:8080"},
		{"--data", "/srv/our shop", "--listen", "0.0.0.0:8443", "--tls", "local",
			"--backup=/srv/co$pies 50%"},
		{"--data", "/var/lib/tallywalk", "--listen", ":443", "--tls", "local"},
		{"engine", "--name", "a", "--data", "/var/lib/tallywalk", "--listen", "0.0.0.0:4222", "--secret",
			"/etc/tallywalk/secret"},
	} {
		what, err := serviceOf(realHost(), options)
		if err != nil {
			t.Fatal(err)
		}
		text, err := unitFile(program, what)
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Join(t.TempDir(), "tallywalk.service")
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.CommandContext(t.Context(), "systemd-analyze", "verify", "--man=no",
			name).CombinedOutput(); err != nil || strings.Contains(string(out), name) {
			t.Errorf("%q: %v: %s", options, err, out)
		}
		out, err := exec.CommandContext(t.Context(), "systemd-analyze", "security", "--no-pager",
			"--offline=true", "--threshold=20", name).CombinedOutput()
		if err != nil {
			t.Errorf("%q: %v: %s", options, err, out)
		}
		lines := strings.Split(strings.TrimSpace(string(out)), "\n")
		t.Log(options, lines[len(lines)-1])
	}
}

func TestUnitWord(t *testing.T) {
	for s, want := range map[string]string{
		"/srv/shop": "/srv/shop", "50%": "50%%", "a$b": `"a$$b"`, "a b": `"a b"`, `a"b\c`: `"a\"b\\c"`,
		"": `""`, "a;b": `"a;b"`,
	} {
		if got := unitWord(s); got != want {
			t.Errorf("%q becomes %s, not %s", s, got, want)
		}
	}
}
