package kiosk

import (
	"embed"
	"io/fs"
	"strings"
)

// Files whose names begin with _ are left out by embed: the page's own tests.
//
//go:embed page
var embedded embed.FS

// Page is the station page: index.html and what it loads, with paths relative
// to /kiosk/.
func Page() fs.FS {
	sub, err := fs.Sub(embedded, "page")
	if err != nil {
		// The folder is embedded above; only a slip in this file gets here.
		panic(err)
	}
	return withoutTests{sub}
}

// withoutTests hides the tests that lie beside the modules.
type withoutTests struct{ fs.FS }

// Open opens a file that is no test; see fs.FS.
func (w withoutTests) Open(name string) (fs.File, error) {
	if strings.HasSuffix(name, ".test.js") {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return w.FS.Open(name)
}
