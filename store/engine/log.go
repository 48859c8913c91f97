//go:build !noengine

package engine

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"regexp"
	"strings"
	"sync"
)

// logger gives what the engine says to a structured log: one line each, and no address of a client in it.
type logger struct {
	log   *slog.Logger
	fatal chan error // the first thing after which the engine does not go on

	mu    sync.Mutex
	times map[string]int // how often a line came, without its numbers
}

func newLogger(log *slog.Logger) *logger {
	return &logger{log: log, fatal: make(chan error, 1), times: map[string]int{}}
}

// address is an address of version 4 or 6, with its port.
var address = regexp.MustCompile(`\b\d{1,3}(\.\d{1,3}){3}(:\d+)?\b|\[[0-9a-fA-F:.]+(%\w+)?\](:\d+)?`)

// line is what is logged of a text: of a line about a client (the engine numbers them cid) the addresses are
// left out; those of other nodes stay, since they are in the settings and someone has to find the cable.
func line(format string, v []any) string {
	text := strings.TrimSpace(fmt.Sprintf(format, v...))
	if strings.Contains(text, "cid:") || !strings.Contains(text, "rid:") && strings.Contains(text, "client") {
		text = address.ReplaceAllString(text, "(address)")
	}
	return text
}

func (l *logger) Noticef(format string, v ...any) { l.log.Debug("engine", "says", line(format, v)) }
func (l *logger) Warnf(format string, v ...any)   { l.say(slog.LevelWarn, line(format, v)) }

// Errorf logs an error; after a write that failed the engine does not go on, although it thinks so.
func (l *logger) Errorf(format string, v ...any) {
	text := line(format, v)
	l.say(slog.LevelError, text)
	if failedWrite.MatchString(text) {
		l.end(text)
	}
}

// failedWrite is a line after which a stream takes nothing until the node has started again.
var failedWrite = regexp.MustCompile(
	`(?i)critical write error|no space left on device|not enough space on the disk`)

// unlike is what differs between lines that say the same: numbers of connections, ports, attempts.
var unlike = regexp.MustCompile(`\d+`)

// maxLines is how many lines are counted at most; then counting begins again.
const maxLines = 200

// say logs a line the first, second, fourth, eighth time and so on that it comes: a node that is away is
// tried each second, for weeks if need be.
func (l *logger) say(level slog.Level, text string) {
	if strings.Contains(text, "hostname of solicited routes will not be verified") {
		return // they are: by the one key, see store/secret
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.times) >= maxLines {
		clear(l.times)
	}
	like := unlike.ReplaceAllString(text, "0")
	l.times[like]++
	if n := l.times[like]; n&(n-1) == 0 {
		l.log.Log(context.Background(), level, "engine", "says", text, "times", n)
	}
}

// Debugf and Tracef leave out what only those who change the engine read.
func (l *logger) Debugf(string, ...any) {}
func (l *logger) Tracef(string, ...any) {}

// Fatalf keeps why the engine does not go on; whoever waits for it ends the process.
func (l *logger) Fatalf(format string, v ...any) {
	text := line(format, v)
	l.log.Error("engine", "says", text)
	l.end(text)
}

func (l *logger) end(text string) {
	select {
	case l.fatal <- errors.New(text):
	default:
	}
}
