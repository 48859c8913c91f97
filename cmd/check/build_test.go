package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestTypesForWindows(t *testing.T) {
	for _, test := range []struct{ name, src, fault string }{
		{"there", "import \"syscall\"\n\nfunc main() { _ = syscall.GetProcAddress }", ""},
		{"not there", "import \"syscall\"\n\nfunc main() { _ = syscall.Kill }", "undefined: syscall.Kill"},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := t.TempDir()
			for name, text := range map[string]string{
				"go.mod":                "module tallywalk\n\ngo 1.25\n",
				"cmd/tallywalk/main.go": "package main\n\n" + test.src + "\n",
			} {
				path := filepath.Join(dir, name)
				if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			var said bytes.Buffer
			err := (&project{root: dir}).checkWindows(t.Context(), &said)
			if (err != nil) != (test.fault != "") || !strings.Contains(said.String(), test.fault) {
				t.Errorf("%v: %s", err, &said)
			}
		})
	}
}
