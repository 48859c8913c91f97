//go:build !linux

package engines

import (
	"errors"
	"os"
	"os/exec"
)

var errLinux = errors.New("a process is stopped on Linux only")

// begin starts a process, which ends when its standard input does.
func begin(cmd *exec.Cmd) error { return cmd.Start() }

func stop(*os.Process) error     { return errLinux }
func resume(*os.Process) error   { return errLinux }
func isStopped(*os.Process) bool { return false }
