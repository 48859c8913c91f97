package kiosk

import (
	"embed"
	"io/fs"
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
	return sub
}
