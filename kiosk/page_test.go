package kiosk

import (
	"io/fs"
	"testing"
)

func TestPageServesNoTests(t *testing.T) {
	page := Page()
	if _, err := fs.ReadFile(page, "outbox.js"); err != nil {
		t.Error(err)
	}
	tests, err := fs.Glob(embedded, "page/*.test.js")
	if err != nil || len(tests) == 0 {
		t.Fatalf("no tests beside the page: %v", err)
	}
	for _, name := range tests {
		if _, err := fs.ReadFile(page, name[len("page/"):]); err == nil {
			t.Errorf("%s is served", name)
		}
	}
}
