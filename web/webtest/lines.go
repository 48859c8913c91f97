package webtest

import (
	"bytes"
	"sync"
)

// Lines keeps what a server logs. It is safe to be read while more is logged.
type Lines struct {
	mu   sync.Mutex
	text bytes.Buffer
}

// Write takes what is logged. It never fails.
func (l *Lines) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(b)
}

// String is what was logged so far.
func (l *Lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}
