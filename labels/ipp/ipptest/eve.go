// Package ipptest starts Debian's ippeveprinter for tests: a printer by other people,
// that can run out of paper, jam and be switched off.
package ipptest

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// bus is the configuration of a message bus of the test's own: the printer wants one to
// announce itself, which it is not to do.
const bus = `<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig><type>system</type><listen>unix:path=%s</listen><auth>EXTERNAL</auth>
<policy context="default"><allow send_destination="*"/><allow receive_sender="*"/><allow own="*"/><allow user="*"/></policy>
</busconfig>`

// printing is what the printer does with a document: it says on its error output how it
// is (ippeveprinter(1), STATE:), and waits while a file says that something is in the way.
const printing = `#!/bin/sh
if [ -e '%[1]s/jam' ]; then echo 'STATE: +media-jam-error' >&2; exit 1; fi
if [ -e '%[1]s/out' ]; then
	echo 'STATE: +media-empty-error' >&2
	while [ -e '%[1]s/out' ]; do sleep 0.05; done
	echo 'STATE: -media-empty-error' >&2
fi
echo "$1" >> '%[1]s/printed'
`

// attributes are what the printer says that it is. The paper is the test's.
const attributes = `ATTR text printer-make-and-model "Example Label and Card Printer"
ATTR keyword media-supported %[1]s
ATTR keyword media-ready %[1]s
ATTR keyword media-default %[2]s
ATTR keyword sides-supported one-sided,two-sided-long-edge
ATTR mimeMediaType document-format-supported application/octet-stream,%[3]s
`

// Eve is a running ippeveprinter.
type Eve struct {
	URI  string // ipp://127.0.0.1:port/ipp/print
	t    testing.TB
	dir  string
	port string
	env  []string
	cmd  *exec.Cmd
}

// Options are what a printer has; empty is A5 and A4, and PDF.
type Options struct {
	Media  string // names of paper with commas between
	Format string // media type
}

// Start starts a printer; it ends with the test.
func Start(t testing.TB, o Options) *Eve {
	t.Helper()
	e := &Eve{t: t, dir: t.TempDir()}
	if o.Media == "" {
		o.Media = "iso_a5_148x210mm,iso_a4_210x297mm"
	}
	if o.Format == "" {
		o.Format = "application/pdf"
	}
	first, _, _ := strings.Cut(o.Media, ",")
	e.write("printer.conf", fmt.Sprintf(attributes, o.Media, first, o.Format), 0o600)
	e.write("print.sh", fmt.Sprintf(printing, e.dir), 0o700)
	if err := os.Mkdir(e.path("spool"), 0o700); err != nil {
		t.Fatal(err)
	}
	e.startBus()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	_, e.port, _ = net.SplitHostPort(ln.Addr().String())
	if err := ln.Close(); err != nil {
		t.Fatal(err)
	}
	e.URI = "ipp://127.0.0.1:" + e.port + "/ipp/print"
	e.On()
	t.Cleanup(func() {
		e.Clear("out")
		e.Off()
	})
	return e
}

func (e *Eve) path(name string) string { return filepath.Join(e.dir, name) }

func (e *Eve) write(name, text string, mode os.FileMode) {
	e.t.Helper()
	if err := os.WriteFile(e.path(name), []byte(text), mode); err != nil {
		e.t.Fatal(err)
	}
}

// startBus starts the message bus. The path of its socket is short, since a socket's may not
// be long.
func (e *Eve) startBus() {
	e.t.Helper()
	dir, err := os.MkdirTemp("", "bus")
	if err != nil {
		e.t.Fatal(err)
	}
	socket := filepath.Join(dir, "s")
	e.write("bus.conf", fmt.Sprintf(bus, socket), 0o600)
	cmd := exec.Command("dbus-daemon", "--config-file="+e.path("bus.conf"), "--nofork", "--nopidfile",
		"--print-address")
	out, err := cmd.StdoutPipe()
	if err != nil {
		e.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		e.t.Fatalf("dbus-daemon: %v (apt-get install dbus-daemon)", err)
	}
	e.t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		_ = os.RemoveAll(dir)
	})
	if _, err := bufio.NewReader(out).ReadString('\n'); err != nil {
		e.t.Fatalf("dbus-daemon says no address: %v", err)
	}
	e.env = append(os.Environ(), "DBUS_SYSTEM_BUS_ADDRESS=unix:path="+socket)
}

// On switches the printer on, and waits until it answers.
func (e *Eve) On() {
	e.t.Helper()
	cmd := exec.Command("ippeveprinter", "-k", "-d", e.path("spool"), "-n", "localhost", "-p", e.port, "-r",
		"off",
		"-a", e.path("printer.conf"), "-c", e.path("print.sh"), "cards")
	cmd.Env = e.env
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if err := cmd.Start(); err != nil {
		e.t.Fatalf("ippeveprinter: %v (apt-get install cups-ipp-utils)", err)
	}
	e.cmd = cmd
	gone := make(chan error, 1)
	go func() { gone <- cmd.Wait() }()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	every := time.NewTicker(20 * time.Millisecond)
	defer every.Stop()
	for {
		select {
		case err := <-gone:
			e.t.Fatalf("ippeveprinter ended: %v", err)
		case <-ctx.Done():
			e.t.Fatal("ippeveprinter does not answer")
		case <-every.C:
			if resp, err := http.Get("http://127.0.0.1:" + e.port + "/"); err == nil {
				_ = resp.Body.Close()
				return
			}
		}
	}
}

// Off kills the printer with what it is printing, as a pulled plug does.
func (e *Eve) Off() {
	e.t.Helper()
	if e.cmd == nil {
		return
	}
	if err := syscall.Kill(-e.cmd.Process.Pid, syscall.SIGKILL); err != nil {
		e.t.Errorf("kill: %v", err)
	}
	e.cmd = nil
}

// Set puts something in the printer's way: "out" takes the paper out, "jam" lets it jam.
func (e *Eve) Set(what string) { e.t.Helper(); e.write(what, "", 0o600) }

// Clear takes it away again.
func (e *Eve) Clear(what string) { _ = os.Remove(e.path(what)) }

// Printed are the documents that have come out, in their order.
func (e *Eve) Printed() (all [][]byte) {
	e.t.Helper()
	names, err := os.ReadFile(e.path("printed"))
	if err != nil {
		return nil // nothing was
	}
	for _, name := range strings.Fields(string(names)) {
		b, err := os.ReadFile(name)
		if err != nil {
			e.t.Fatal(err)
		}
		all = append(all, b)
	}
	return all
}

// Spooled is how many documents the printer has taken.
func (e *Eve) Spooled() int {
	e.t.Helper()
	all, err := filepath.Glob(e.path("spool") + "/*.pdf")
	if err != nil {
		e.t.Fatal(err)
	}
	return len(all)
}
