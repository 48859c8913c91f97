package kiosk

import (
	"embed"
	"io/fs"
)

// Files whose names begin with _ are left out by embed: the page's own tests.
//
//go:embed page
var embedded embed.FS

// Page holds the station page: main.js and the modules and styles beside it.
// What they share with the other pages is web/lib.
func Page() fs.FS {
	sub, err := fs.Sub(embedded, "page")
	if err != nil {
		// The folder is embedded above; only a slip in this file gets here.
		panic(err)
	}
	return sub
}
