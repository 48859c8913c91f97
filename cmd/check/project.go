package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// project is the checkout that the steps work on.
type project struct {
	root string // absolute
	opts options
}

// findRoot returns the folder, dir or one above it, that holds go.mod.
func findRoot(dir string) (string, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", fmt.Errorf("where are we? %w", err)
	}
	for at := abs; ; at = filepath.Dir(at) {
		if _, err := os.Stat(filepath.Join(at, "go.mod")); err == nil {
			return at, nil
		}
		if at == filepath.Dir(at) {
			return "", fmt.Errorf("no go.mod in %s or above: run this inside the project", abs)
		}
	}
}

// command prepares a program that runs in the root, writes both its streams to
// out, and is asked to stop, then killed, when ctx ends. Entries of env are
// added to the environment.
func (p *project) command(ctx context.Context, out io.Writer, env []string, program string,
	args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, program, args...)
	cmd.Dir = p.root
	// With C, or without: what depends on the network's packages would be compiled twice.
	cmd.Env = slices.Concat(os.Environ(), []string{"CGO_ENABLED=0"}, env)
	cmd.Stdout, cmd.Stderr = out, out
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.WaitDelay = 10 * time.Second
	return cmd
}

// run runs a program as command prepares it; the error names what was run.
func (p *project) run(ctx context.Context, out io.Writer, env []string, program string,
	args ...string) error {
	err := p.command(ctx, out, env, program, args...).Run()
	if err == nil {
		return nil
	}
	line := strings.Join(slices.Concat(env, []string{program}, args), " ")
	return fmt.Errorf("%s: %w", line, err)
}

// list gives the import paths of the packages that were asked for.
func (p *project) list(ctx context.Context) ([]string, error) {
	var said, faults bytes.Buffer
	cmd := p.command(ctx, &said, nil, "go", append([]string{"list"}, p.opts.packages...)...)
	cmd.Stderr = &faults
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("go list: %w: %s", err, bytes.TrimSpace(faults.Bytes()))
	}
	return strings.Fields(said.String()), nil
}

// files lists what belongs to the project, slash-separated and relative to the
// root: what git follows, and what is new and not ignored.
func (p *project) files(ctx context.Context) ([]string, error) {
	cmd := exec.CommandContext(ctx, "git", "ls-files", "-z", "--cached", "--others", "--exclude-standard",
		"--deduplicate")
	cmd.Dir = p.root
	list, err := cmd.Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			return nil, fmt.Errorf("git ls-files: %s", bytes.TrimSpace(exit.Stderr))
		}
		return nil, fmt.Errorf("git ls-files: %w", err)
	}
	var files []string
	for name := range strings.SplitSeq(string(list), "\x00") {
		// What was deleted but not yet committed is still on git's list.
		if info, err := os.Stat(filepath.Join(p.root, filepath.FromSlash(name))); err == nil &&
			info.Mode().IsRegular() {
			files = append(files, name)
		}
	}
	slices.Sort(files)
	return files, nil
}
