package main

import (
	"context"
	"errors"
	"io"
	"slices"
	"strings"
)

// checkPage runs the tests of the pages' own code with node's test runner. The
// files are named one by one, since versions of node differ in what they find
// by themselves.
func checkPage(ctx context.Context, p *project, out io.Writer) error {
	files, err := p.files(ctx)
	if err != nil {
		return err
	}
	tests := pageTests(files)
	if len(tests) == 0 {
		return errors.New("no test of a page found: they are called _*.test.js and lie beside the modules")
	}
	return p.run(ctx, out, nil, "node", slices.Concat([]string{"--test"}, tests)...)
}

// pageTests are the files with tests of the pages' code.
func pageTests(files []string) []string {
	var tests []string
	for _, name := range files {
		if strings.HasSuffix(name, ".test.js") && !isFixture(name) {
			tests = append(tests, name)
		}
	}
	return tests
}
