package engines

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"sync"
	"syscall"
)

// starts is one thread that starts all nodes and stays: the kernel ends a child with the thread that began
// it, and the runtime ends threads as it likes.
var starts = sync.OnceValue(func() chan<- func() {
	work := make(chan func())
	go func() {
		runtime.LockOSThread()
		for f := range work {
			f()
		}
	}()
	return work
})

// begin starts a process that ends with this one.
func begin(cmd *exec.Cmd) error {
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	done := make(chan error)
	starts() <- func() { done <- cmd.Start() }
	return <-done
}

// stop halts a process; isStopped reports when it has.
func stop(p *os.Process) error   { return p.Signal(syscall.SIGSTOP) }
func resume(p *os.Process) error { return p.Signal(syscall.SIGCONT) }

// isStopped reads the state of a process, which is the first letter after its name (proc(5)).
func isStopped(p *os.Process) bool {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.Pid))
	if err != nil {
		return false
	}
	after := stat[bytes.LastIndexByte(stat, ')')+1:]
	return bytes.HasPrefix(after, []byte(" T"))
}
