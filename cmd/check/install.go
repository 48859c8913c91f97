package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"slices"
	"strings"
)

// machine is what check knows about where it runs.
type machine struct {
	system  string // as the system names itself
	debian  bool
	root    bool
	lacking func(steps []step) []need
	apt     func(args ...string) error
}

// thisMachine looks around. apt-get's output goes to standard error.
func thisMachine(ctx context.Context) machine {
	release, err := os.ReadFile("/etc/os-release")
	if err != nil {
		release = nil // no such file: then it is no Debian either
	}
	system, debian := readRelease(string(release))
	return machine{
		system: system,
		debian: debian,
		root:   os.Geteuid() == 0,
		lacking: func(steps []step) []need {
			return missing(ctx, needs, steps)
		},
		apt: func(args ...string) error {
			cmd := exec.CommandContext(ctx, "apt-get", args...)
			cmd.Env = append(os.Environ(), "DEBIAN_FRONTEND=noninteractive")
			cmd.Stdout, cmd.Stderr = os.Stderr, os.Stderr
			return cmd.Run()
		},
	}
}

// readRelease takes a system's name, and whether it is Debian, from os-release.
// Relatives of Debian do not count: some have packages of the same names that
// bring something else.
func readRelease(text string) (system string, debian bool) {
	system = "an unknown system"
	lines := bufio.NewScanner(strings.NewReader(text))
	for lines.Scan() {
		key, value, _ := strings.Cut(lines.Text(), "=")
		value = strings.Trim(value, `"'`)
		switch key {
		case "PRETTY_NAME":
			system = value
		case "ID":
			debian = value == "debian"
		}
	}
	return system, debian
}

// provide sees to it that the machine has what the chosen steps need, or says
// what to do about it.
func provide(ctx context.Context, opts options, m machine, out io.Writer) error {
	lacking := m.lacking(opts.steps)
	if len(lacking) == 0 {
		return nil
	}
	fmt.Fprint(out, describe(lacking))
	names := debs(lacking)
	if !m.debian {
		return fmt.Errorf("this is %s and not Debian: install the above in its own way, then run this again",
			m.system)
	}
	if !opts.install || !m.root {
		return errors.New(installAdvice(names, opts.install, m.root))
	}
	if err := m.apt("update", "-q"); err != nil {
		return fmt.Errorf("apt-get update: %w; see its lines above", err)
	}
	// Another apt-get may be at work on a machine that has just been started.
	args := []string{"install", "-q", "-y", "--no-install-recommends", "-o", "DPkg::Lock::Timeout=120"}
	if err := m.apt(slices.Concat(args, names)...); err != nil {
		return fmt.Errorf("apt-get install: %w; see its lines above", err)
	}
	if still := m.lacking(opts.steps); len(still) > 0 {
		return fmt.Errorf("apt-get installed %s, and yet there is still\n%s", strings.Join(names, ", "),
			strings.TrimSpace(describe(still)))
	}
	return ctx.Err()
}

// installAdvice gives the exact command for a Debian machine on which check may
// not install, or was not asked to.
func installAdvice(names []string, asked, root bool) string {
	sudo, reason := "sudo ", "run this again with --install as root, or run"
	switch {
	case root:
		sudo, reason = "", "run this again with --install, or run"
	case asked:
		reason = "only root can install: run"
	}
	return fmt.Sprintf("%s\n\t%sapt-get update && %sapt-get install -y --no-install-recommends %s",
		reason, sudo, sudo, strings.Join(names, " "))
}
