package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/sys/windows/svc"
)

// What the manager waits, in ms, before it takes a service for hung: a record of ten
// years opens in less, and the last writes of a server end in less.
const (
	startHint = 120_000
	stopHint  = 60_000
)

// byManager runs the program as a service where the manager of services started it, and
// says whether it did.
func byManager(args []string) (code int, is bool) {
	if is, err := svc.IsWindowsService(); err != nil || !is {
		return 0, false
	}
	s := &windowsService{args: args}
	if err := svc.Run(serviceName, s); err != nil {
		return 1, true
	}
	return s.code, true
}

// windowsService is the program as the manager of services sees it.
type windowsService struct {
	args []string
	code int
}

// Execute is called by the manager; it returns when the program has ended.
func (s *windowsService) Execute(
	_ []string, asked <-chan svc.ChangeRequest, says chan<- svc.Status,
) (bool, uint32) {
	s.code = managed(asked, meaningOf, func(now serviceState) { says <- serviceStatus(now) }, s.runs)
	return s.code != 0, uint32(s.code)
}

func (s *windowsService) runs(ctx context.Context, ready func()) int {
	log, err := serviceLog(logOf(s.args, beside()))
	if err != nil {
		return 1
	}
	defer func() { _ = log.Close() }()
	h := realHost()
	h.ctx, h.in, h.out, h.err = ctx, strings.NewReader(""), log, log
	h.ready = func(string) { ready() }
	fmt.Fprintln(log, h.now().UTC().Format("2006-01-02 15:04:05 UTC"), "the service starts")
	return run(s.args, h)
}

// beside is the folder of the program.
func beside() string {
	program, err := os.Executable()
	if err != nil {
		return os.TempDir()
	}
	return filepath.Dir(program)
}

func meaningOf(r svc.ChangeRequest) managerAsks {
	switch r.Cmd {
	case svc.Stop, svc.Shutdown:
		return asksStop
	case svc.Interrogate:
		return asksState
	}
	return asksOther
}

func serviceStatus(now serviceState) svc.Status {
	switch now {
	case isStarting:
		return svc.Status{State: svc.StartPending, WaitHint: startHint}
	case isStopping:
		return svc.Status{State: svc.StopPending, WaitHint: stopHint}
	}
	return svc.Status{State: svc.Running, Accepts: svc.AcceptStop | svc.AcceptShutdown}
}
