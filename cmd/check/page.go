package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// pageTools is where npm's tools are pinned and installed.
const pageTools = ".tools"

// checkPage looks at the pages' own code: its format, its types, and its tests,
// all of them, so that one call shows everything there is to mend.
func checkPage(ctx context.Context, p *project, out io.Writer) error {
	files, err := p.files(ctx)
	if err != nil {
		return err
	}
	if err := p.npmTools(ctx, out); err != nil {
		return err
	}
	return errors.Join(p.pageFormat(ctx, out, files), p.pageTypes(ctx, out), p.pageTests(ctx, out, files))
}

// npmTools installs what .tools/package-lock.json pins, unless it is there: npm
// keeps what it fetched under HOME, so that a second time is quick.
func (p *project) npmTools(ctx context.Context, out io.Writer) error {
	dir := filepath.Join(p.root, pageTools)
	want, err := os.ReadFile(filepath.Join(dir, "package-lock.json"))
	if err != nil {
		return fmt.Errorf("the pages' tools: %w", err)
	}
	stamp := filepath.Join(dir, "node_modules", ".installed")
	if got, err := os.ReadFile(stamp); err == nil && bytes.Equal(got, want) {
		return nil
	}
	// In the folder itself: with --prefix npm looks for the machine's own settings, such
	// as who signs for its proxy, in there too.
	cmd := p.command(ctx, out, nil, "npm", "ci", "--no-audit", "--no-fund", "--no-update-notifier")
	cmd.Dir = dir
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("npm ci in %s: %w", pageTools, err)
	}
	return os.WriteFile(stamp, want, 0o600)
}

// npmTool is an installed tool, to be run by node.
func npmTool(name string) string { return pageTools + "/node_modules/" + name }

// pageFormat wants every script as the formatter writes it; with --fix it writes
// them so.
func (p *project) pageFormat(ctx context.Context, out io.Writer, files []string) error {
	args := []string{npmTool("prettier/bin/prettier.cjs"), "--log-level=warn", "--check"}
	if p.opts.fix {
		args[2] = "--write"
	}
	args = append(args, "--cache", "--cache-location="+npmTool(".cache/prettier"))
	err := p.run(ctx, out, nil, "node", append(args, pageScripts(files)...)...)
	if err != nil && !p.opts.fix {
		return fmt.Errorf("%w\ngo run ./cmd/check --fix page formats them", shortened(err))
	}
	return shortened(err)
}

// shortened leaves the names of all files out of what went wrong.
func shortened(err error) error {
	if err == nil {
		return nil
	}
	return errors.New("the formatter found something, see above")
}

// pageTypes holds the pages' code to its types. Those of the API are made of
// openapi.json first.
func (p *project) pageTypes(ctx context.Context, out io.Writer) error {
	err := p.run(ctx, io.Discard, nil, "node", npmTool("openapi-typescript/bin/cli.js"), "web/openapi.json",
		"--output", pageTools+"/types/api.d.ts")
	if err != nil {
		return err
	}
	return p.run(ctx, out, nil, "node", npmTool("typescript/bin/tsc"), "--project", pageTools)
}

// pageTests runs the tests with node's test runner. The files are named one by
// one, since versions of node differ in what they find by themselves.
func (p *project) pageTests(ctx context.Context, out io.Writer, files []string) error {
	tests := pageTests(files)
	if len(tests) == 0 {
		return errors.New("no test of a page found: they are called _*.test.js and lie beside the modules")
	}
	return p.run(ctx, out, nil, "node", slices.Concat([]string{"--test"}, tests)...)
}

// pageTests are the files with tests of the pages' code.
func pageTests(files []string) []string {
	var tests []string
	for _, name := range pageScripts(files) {
		if strings.HasSuffix(name, ".test.js") {
			tests = append(tests, name)
		}
	}
	return tests
}

// pageScripts are the project's own scripts.
func pageScripts(files []string) []string {
	var scripts []string
	for _, name := range files {
		if strings.HasSuffix(name, ".js") && !isFixture(name) {
			scripts = append(scripts, name)
		}
	}
	return scripts
}
