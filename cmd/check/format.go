package main

import (
	"bytes"
	"context"
	"fmt"
	"go/format"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// checkFormat wants every Go file as gofmt writes it; with --fix it rewrites
// those that are not.
func checkFormat(ctx context.Context, p *project, out io.Writer) error {
	files, err := p.files(ctx)
	if err != nil {
		return err
	}
	bad := 0
	for _, name := range files {
		if !strings.HasSuffix(name, ".go") {
			continue
		}
		ok, err := formatFile(filepath.Join(p.root, filepath.FromSlash(name)), p.opts.fix)
		if err != nil {
			fmt.Fprintf(out, "%s: %v\n", name, err)
		} else if !ok {
			fmt.Fprintf(out, "%s: not formatted\n", name)
		}
		if err != nil || !ok {
			bad++
		}
	}
	if bad > 0 {
		return fmt.Errorf("%d files: go run ./cmd/check --fix format", bad)
	}
	return nil
}

// formatFile reports whether the file is formatted, after mending it if fix is
// set.
func formatFile(path string, fix bool) (bool, error) {
	info, err := os.Stat(path)
	if err != nil {
		return false, err
	}
	was, err := os.ReadFile(path)
	if err != nil {
		return false, err
	}
	is, err := format.Source(was)
	if err != nil {
		return false, err
	}
	if bytes.Equal(was, is) {
		return true, nil
	}
	if !fix {
		return false, nil
	}
	return true, os.WriteFile(path, is, info.Mode().Perm())
}
