package main

import (
	"bufio"
	"bytes"
	"context"
	"debug/elf"
	"debug/macho"
	"debug/pe"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"time"
)

// stamp stands for the commit, so that two checkouts give the same bytes whatever git
// says of them.
const stamp = "checked@1700000000"

// checkPack packs a release as a shop gets it: every binary is what its name says, the
// one that this computer can run answers, and what another folder gives with an empty
// build cache has the same bytes.
func checkPack(ctx context.Context, p *project, out io.Writer) (err error) {
	dir, err := os.MkdirTemp("", "tallywalk-pack-")
	if err != nil {
		return fmt.Errorf("no room for the release: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	first, again := filepath.Join(dir, "first"), filepath.Join(dir, "again")
	if err := p.run(ctx, out, nil, "go", "run", "./cmd/pack", "--stamp", stamp, "--out", first); err != nil {
		return err
	}
	sums := project{root: first}
	if err := sums.run(ctx, out, nil, "sha256sum", "--strict", "-c", "SHA256SUMS"); err != nil {
		return err
	}
	binaries, err := filepath.Glob(filepath.Join(first, "tallywalk-*-*-*"))
	if err != nil || len(binaries) != 5 {
		return fmt.Errorf("%d binaries, not 5: %w", len(binaries), err)
	}
	for _, name := range binaries {
		if err := headerFault(name); err != nil {
			return err
		}
	}
	here, err := filepath.Glob(filepath.Join(first, "tallywalk-*-"+runtime.GOOS+"-"+runtime.GOARCH))
	if err != nil || len(here) != 1 {
		return fmt.Errorf("no binary for this computer: %w", err)
	}
	if err := starts(ctx, here[0], filepath.Join(dir, "data")); err != nil {
		return err
	}
	if err := p.packElsewhere(ctx, out, filepath.Join(dir, "elsewhere"), again); err != nil {
		return err
	}
	return sameBytes(here[0], filepath.Join(again, filepath.Base(here[0])))
}

// packElsewhere packs what is for this computer from a copy of the checkout, with a
// build cache that is empty.
func (p *project) packElsewhere(ctx context.Context, out io.Writer, copied, to string) error {
	files, err := p.files(ctx)
	if err != nil {
		return err
	}
	for _, name := range files {
		data, err := os.ReadFile(filepath.Join(p.root, name))
		if err != nil {
			return err
		}
		at := filepath.Join(copied, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(at), 0o755),
			os.WriteFile(at, data, 0o644)); err != nil {
			return err
		}
	}
	there := project{root: copied}
	env := []string{"GOCACHE=" + filepath.Join(copied, ".cache")}
	only := runtime.GOOS + "/" + runtime.GOARCH
	return there.run(ctx, out, env, "go", "run", "./cmd/pack", "--stamp", stamp, "--out", to, "--only", only)
}

// sameBytes fails where two files differ.
func sameBytes(a, b string) error {
	one, err := os.ReadFile(a)
	if err != nil {
		return err
	}
	two, err := os.ReadFile(b)
	if err != nil {
		return err
	}
	if !bytes.Equal(one, two) {
		return fmt.Errorf("%s and %s differ, of %d and %d bytes: something of the computer got in", a, b,
			len(one), len(two))
	}
	return nil
}

// headerFault wants a binary to be for the system and the processor of its name.
func headerFault(name string) error {
	var is string
	switch base := filepath.Base(name); {
	case strings.Contains(base, "-windows-"):
		f, err := pe.Open(name)
		if err != nil {
			return fmt.Errorf("%s is no program for Windows: %w", name, err)
		}
		defer func() { _ = f.Close() }()
		is = map[uint16]string{
			pe.IMAGE_FILE_MACHINE_AMD64: "windows-amd64.exe",
			pe.IMAGE_FILE_MACHINE_ARM64: "windows-arm64.exe",
		}[f.Machine]
	case strings.Contains(base, "-darwin-"):
		f, err := macho.Open(name)
		if err != nil {
			return fmt.Errorf("%s is no program for macOS: %w", name, err)
		}
		defer func() { _ = f.Close() }()
		is = map[macho.Cpu]string{macho.CpuAmd64: "darwin-amd64", macho.CpuArm64: "darwin-arm64"}[f.Cpu]
	default:
		if err := checkBinary(name, maxBinary); err != nil {
			return err
		}
		f, err := elf.Open(name)
		if err != nil {
			return err
		}
		defer func() { _ = f.Close() }()
		is = map[elf.Machine]string{elf.EM_X86_64: "linux-amd64", elf.EM_AARCH64: "linux-arm64"}[f.Machine]
	}
	if is == "" || !strings.HasSuffix(name, "-"+is) {
		return fmt.Errorf("%s is for %q", name, is)
	}
	return nil
}

var answersOn = regexp.MustCompile(`answers on (http://\S+)`)

// starts runs a binary: it says its version, and a server of an empty folder answers
// and ends when it is asked to.
func starts(ctx context.Context, binary, data string) error {
	ctx, stop := context.WithTimeout(ctx, time.Minute)
	defer stop()
	commit, _, _ := strings.Cut(stamp, "@")
	said, err := exec.CommandContext(ctx, binary, "version").Output()
	if err != nil || !strings.HasSuffix(strings.TrimSpace(string(said)), "commit "+commit) {
		return fmt.Errorf("%s version said %q: %w", binary, said, err)
	}
	cmd := exec.CommandContext(ctx, binary, "serve", "--data", data, "--listen", "127.0.0.1:0")
	cmd.Stderr = os.Stderr
	lines, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	err = answers(ctx, lines)
	return errors.Join(err, cmd.Process.Signal(os.Interrupt), cmd.Wait())
}

// answers waits for the address that a server says, and asks it how it is.
func answers(ctx context.Context, lines io.Reader) error {
	in := bufio.NewReader(lines)
	line, err := in.ReadString('\n')
	if err != nil {
		return fmt.Errorf("the server said nothing: %w", err)
	}
	go func() { _, _ = io.Copy(io.Discard, in) }() // ends with the server
	m := answersOn.FindStringSubmatch(line)
	if m == nil {
		return fmt.Errorf("the server said %q", line)
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, m[1]+"/healthz", nil)
	if err != nil {
		return err
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return fmt.Errorf("/healthz answered %s", resp.Status)
	}
	return nil
}
