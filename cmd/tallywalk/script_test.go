package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	bolt "go.etcd.io/bbolt"

	"tallywalk/store/storetest/engines"
)

// TestMain lets more tests run beside each other than there are processors: most
// of them wait for a page or a clock. -parallel has the last word.
func TestMain(m *testing.M) {
	engines.Hook()
	if err := flag.Set("test.parallel", "6"); err != nil {
		panic(err)
	}
	testscript.Main(withBrowser{m}, map[string]func(){"tallywalk": main, "barescans": bareMain})
}

// withBrowser ends the tests' browser when they have ended.
type withBrowser struct{ tests *testing.M }

func (w withBrowser) Run() int {
	defer endChromium()
	return w.tests.Run()
}

// TestScripts is the command line's specification: each script runs the real
// program.
func TestScripts(t *testing.T) {
	t.Parallel()
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join(root, "testdata", "scripts"),
		Setup: func(env *testscript.Env) error {
			env.Setenv("TZ", "UTC")
			return os.CopyFS(filepath.Join(env.WorkDir, "testdata", "example"),
				os.DirFS(filepath.Join(root, "testdata", "example")))
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"serve": scriptServe, "stop-serving": scriptStop, "one-copy": scriptOneCopy,
			"break-entry": scriptBreak, "remove-row": scriptRemoveRow,
		},
	})
}

// serving holds what stops the server of each running script.
var serving sync.Map

// scriptServe starts the server of a folder and waits until it answers.
func scriptServe(ts *testscript.TestScript, _ bool, args []string) {
	cmd := exec.CommandContext(context.Background(), "tallywalk",
		append([]string{"serve", "--listen", "127.0.0.1:0", "--data", ts.MkAbs(args[0])}, args[1:]...)...)
	cmd.Path = toolPath(ts)
	cmd.Env = append(os.Environ(), "TZ=UTC")
	out, err := cmd.StdoutPipe()
	ts.Check(err)
	ts.Check(cmd.Start())
	line := make([]byte, 400)
	n, err := out.Read(line)
	ts.Check(err)
	if !strings.Contains(string(line[:n]), "answers on") {
		ts.Fatalf("the server said %q", line[:n])
	}
	stop := func() {
		_ = cmd.Process.Signal(os.Interrupt)
		_ = cmd.Wait()
	}
	serving.Store(ts.Name(), stop)
	ts.Defer(func() { scriptStop(ts, false, nil) })
}

func scriptStop(ts *testscript.TestScript, _ bool, _ []string) {
	if stop, ok := serving.LoadAndDelete(ts.Name()); ok {
		stop.(func())()
	}
}

// scriptOneCopy gives the one copy in a folder a name that a script can say.
func scriptOneCopy(ts *testscript.TestScript, _ bool, args []string) {
	all, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	if len(all) != 1 {
		ts.Fatalf("%s holds %d files", args[0], len(all))
	}
	ts.Check(os.Rename(filepath.Join(ts.MkAbs(args[0]), all[0].Name()), ts.MkAbs(args[1])))
}

// scriptBreak changes an entry of a closed data file, as a disk or a hand may.
func scriptBreak(ts *testscript.TestScript, _ bool, args []string) {
	seq, err := strconv.ParseUint(args[1], 10, 64)
	ts.Check(err)
	db, err := bolt.Open(ts.MkAbs(args[0]), 0o600, nil)
	ts.Check(err)
	ts.Check(db.Update(func(tx *bolt.Tx) error {
		b, key := tx.Bucket([]byte("record")), binary.BigEndian.AppendUint64(nil, seq)
		v := bytes.Clone(b.Get(key))
		v[len(v)-2] ^= 1
		return b.Put(key, v)
	}))
	ts.Check(db.Close())
}

// scriptRemoveRow removes the first row of a bucket of the ledger of a closed data file.
func scriptRemoveRow(ts *testscript.TestScript, _ bool, args []string) {
	db, err := bolt.Open(ts.MkAbs(args[0]), 0o600, nil)
	ts.Check(err)
	ts.Check(db.Update(func(tx *bolt.Tx) error {
		b := tx.Bucket([]byte("ledger")).Bucket([]byte(args[1]))
		key, _ := b.Cursor().First()
		return b.Delete(key)
	}))
	ts.Check(db.Close())
}

func toolPath(ts *testscript.TestScript) string {
	for _, dir := range filepath.SplitList(ts.Getenv("PATH")) {
		p := filepath.Join(dir, "tallywalk")
		if _, err := os.Stat(p); err == nil {
			return p
		}
	}
	ts.Fatalf("the program is not on the PATH")
	return ""
}

// TestReadmeCommands holds the README's first day and the script together:
// each command that the README shows is tried by a script.
func TestReadmeCommands(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	var script []byte
	for _, name := range []string{"first-day", "keeping", "service"} {
		text, err := os.ReadFile("../../testdata/scripts/" + name + ".txtar")
		if err != nil {
			t.Fatal(err)
		}
		script = append(script, text...)
	}
	shown := regexp.MustCompile(`(?m)^(?:go run \./cmd/)?tallywalk (.*)$`).FindAllStringSubmatch(
		string(readme), -1)
	if len(shown) < 6 {
		t.Fatalf("the README shows only %d commands", len(shown))
	}
	for _, m := range shown {
		c, _, _ := strings.Cut(strings.TrimSpace(m[1]), " > ") // what a shell does with what is printed
		c = strings.TrimSpace(strings.TrimSuffix(c, `\`))      // the line goes on
		if c == "demo" || strings.HasPrefix(c, "serve ") || strings.HasPrefix(c, "engine ") ||
			strings.HasPrefix(c, "move ") {
			continue // run by the other tests of this package, which find ports that are free
		}
		if !strings.Contains(string(script), "exec tallywalk "+c) {
			t.Errorf("no script tries %q", c)
		}
	}
}

// A port that is taken, and a folder that is open, are reported within a second.
func TestSecondServerEndsAtOnce(t *testing.T) {
	r := newRig(t, rigOptions{})
	start := time.Now()
	var out, errOut strings.Builder
	h := r.host
	h.out, h.err = &out, &errOut
	if code := run([]string{"serve", "--data", t.TempDir(), "--listen",
		strings.TrimPrefix(r.base, "http://")}, h); code != 1 ||
		!strings.Contains(errOut.String(), "is in use by another program") {
		t.Errorf("status %d: %s", code, errOut.String())
	}
	errOut.Reset()
	if code := run([]string{"serve", "--data", r.dir, "--listen", "127.0.0.1:0"}, h); code != 1 ||
		strings.Count(errOut.String(), "\n") != 1 {
		t.Errorf("status %d: %s", code, errOut.String())
	}
	if took := time.Since(start); took > 3*time.Second {
		t.Errorf("took %v", took)
	}
}
