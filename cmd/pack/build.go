package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"debug/buildinfo"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"strconv"
	"strings"
	"time"
)

// program is the package that is packed, and own its module.
const (
	program = "./cmd/tallywalk"
	own     = "tallywalk"
)

// target is a system that there is a binary for.
type target struct{ system, processor string }

func (t target) String() string { return t.system + "/" + t.processor }

var targets = []target{
	{"linux", "amd64"}, {"linux", "arm64"}, {"windows", "amd64"}, {"darwin", "arm64"}, {"darwin", "amd64"},
}

// release is what is packed.
type release struct {
	version string
	commit  string    // "unknown" where there is no git
	at      time.Time // of the commit
}

// made is a file that was packed.
type made struct {
	name string
	size int64
	sum  string           // SHA-256, as hexadecimal digits
	info *debug.BuildInfo // of a binary; nil of other files
}

var versionLine = regexp.MustCompile(`(?m)^const version = "([0-9.]+)"$`)

// releaseOf reads the version from the source, and commit and time from stamp or, where
// that is empty, from git. It fails where either cannot be read.
func releaseOf(ctx context.Context, stamp string) (release, error) {
	source, err := os.ReadFile(filepath.Join("cmd", "tallywalk", "version.go"))
	if err != nil {
		return release{}, fmt.Errorf("run this at the top of the checkout: %w", err)
	}
	m := versionLine.FindSubmatch(source)
	if m == nil {
		return release{}, errors.New("cmd/tallywalk/version.go does not say which version this is")
	}
	if stamp == "" {
		if stamp, err = stampOfGit(ctx); err != nil {
			return release{}, err
		}
	}
	if epoch := os.Getenv("SOURCE_DATE_EPOCH"); epoch != "" {
		commit, _, _ := strings.Cut(stamp, "@")
		stamp = commit + "@" + epoch
	}
	commit, seconds, _ := strings.Cut(stamp, "@")
	at, err := strconv.ParseInt(seconds, 10, 64)
	if err != nil || commit == "" || strings.ContainsAny(commit, " \t'\"") {
		return release{}, fmt.Errorf("%q is no stamp such as 3f2a91c@1700000000", stamp)
	}
	return release{string(m[1]), commit, time.Unix(at, 0).UTC()}, nil
}

// stampOfGit is the commit that is checked out and its time. Files that are not as
// there add "-changed". It fails where there is no git, or no commit.
func stampOfGit(ctx context.Context) (string, error) {
	commit, err := output(ctx, nil, "git", "show", "-s", "--format=%H %ct", "HEAD")
	if err != nil {
		return "", fmt.Errorf("which commit is this? Say it with --stamp: %w", err)
	}
	changed, err := output(ctx, nil, "git", "status", "--porcelain")
	if err != nil {
		return "", err
	}
	hash, seconds, _ := strings.Cut(strings.TrimSpace(commit), " ")
	if strings.TrimSpace(changed) != "" {
		hash += "-changed"
	}
	return hash + "@" + seconds, nil
}

// output runs a program and gives what it printed. It fails where the program does,
// with what it said of that.
func output(ctx context.Context, env []string, name string, args ...string) (string, error) {
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Env = append(os.Environ(), env...)
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%s: %w: %s", strings.Join(cmd.Args, " "), err, bytes.TrimSpace(said.Bytes()))
	}
	return string(out), nil
}

// pack makes all files of a release in a folder. It fails where the program cannot be
// built, a licence is not recognised, or a file cannot be written.
func (r release) pack(ctx context.Context, chosen []target, dir string) ([]made, error) {
	var all []made
	for _, t := range chosen {
		m, err := r.build(ctx, t, dir)
		if err != nil {
			return nil, err
		}
		all = append(all, m)
	}
	parts, err := partsOf(ctx, all)
	if err != nil {
		return nil, err
	}
	bill, err := r.bill(all, parts)
	if err != nil {
		return nil, err
	}
	files := []struct {
		name string
		text []byte
	}{
		{fmt.Sprintf("tallywalk-%s.spdx.json", r.version), bill},
		{"LICENSES.txt", notices(parts)},
	}
	for _, f := range files {
		if err := os.WriteFile(filepath.Join(dir, f.name), f.text, 0o644); err != nil {
			return nil, err
		}
		all = append(all, madeOf(f.name, f.text))
	}
	return all, os.WriteFile(filepath.Join(dir, sumsName), sums(all), 0o644)
}

// build makes the binary of a target. It fails where the compiler does.
func (r release) build(ctx context.Context, t target, dir string) (made, error) {
	name := fmt.Sprintf("tallywalk-%s-%s-%s", r.version, t.system, t.processor)
	if t.system == "windows" {
		name += ".exe"
	}
	to := filepath.Join(dir, name)
	// Variables that choose a processor's features would change the bytes.
	env := []string{
		"CGO_ENABLED=0", "GOOS=" + t.system, "GOARCH=" + t.processor,
		"GOAMD64=v1", "GOARM64=v8.0", "GOFLAGS=", "GOEXPERIMENT=", "GOFIPS140=off",
	}
	link := "-ldflags=-s -w -X main.commit=" + r.commit
	_, err := output(ctx, env, "go", "build", "-trimpath", "-buildvcs=false", link, "-o", to, program)
	if err != nil {
		return made{}, err
	}
	data, err := os.ReadFile(to)
	if err != nil {
		return made{}, err
	}
	m := madeOf(name, data)
	m.info, err = buildinfo.ReadFile(to)
	return m, err
}

func madeOf(name string, data []byte) made {
	sum := sha256.Sum256(data)
	return made{name: name, size: int64(len(data)), sum: hex.EncodeToString(sum[:])}
}

// sumsName is the file of checksums.
const sumsName = "SHA256SUMS"

// sums are checksums in the form that sha256sum -c reads.
func sums(all []made) []byte {
	var b bytes.Buffer
	for _, m := range all {
		fmt.Fprintf(&b, "%s  %s\n", m.sum, m.name)
	}
	return b.Bytes()
}
