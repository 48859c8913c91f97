//go:build !noengine

package engine

import (
	"errors"
	"fmt"
	"log/slog"
	"regexp"
	"strings"
)

// logger gives what the engine says to a structured log: one line each, and no address of a client in it.
type logger struct {
	log   *slog.Logger
	fatal chan error // the first thing after which the engine does not go on
}

func newLogger(log *slog.Logger) *logger { return &logger{log: log, fatal: make(chan error, 1)} }

// address is an address of version 4 or 6, with its port.
var address = regexp.MustCompile(`\b\d{1,3}(\.\d{1,3}){3}(:\d+)?\b|\[[0-9a-fA-F:.]+(%\w+)?\](:\d+)?`)

// line is what is logged of a text: of a line about a client (the engine numbers them cid) the addresses are left out;
// those of other nodes stay, since they are in the settings and someone has to find the cable.
func line(format string, v []any) string {
	text := strings.TrimSpace(fmt.Sprintf(format, v...))
	if strings.Contains(text, "cid:") || !strings.Contains(text, "rid:") && strings.Contains(text, "client") {
		text = address.ReplaceAllString(text, "(address)")
	}
	return text
}

func (l *logger) Noticef(format string, v ...any) { l.log.Debug("engine", "says", line(format, v)) }
func (l *logger) Warnf(format string, v ...any)   { l.log.Warn("engine", "says", line(format, v)) }
func (l *logger) Errorf(format string, v ...any)  { l.log.Error("engine", "says", line(format, v)) }

// Debugf and Tracef leave out what only those who change the engine read.
func (l *logger) Debugf(string, ...any) {}
func (l *logger) Tracef(string, ...any) {}

// Fatalf keeps why the engine does not go on; whoever waits for it ends the process.
func (l *logger) Fatalf(format string, v ...any) {
	text := line(format, v)
	l.log.Error("engine", "says", text)
	select {
	case l.fatal <- errors.New(text):
	default:
	}
}
