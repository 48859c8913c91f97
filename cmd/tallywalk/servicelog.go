package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// The files that a service without a console writes what it says to: a server, and a node of the engine
// that may have the same folder.
const (
	serviceLogName = "tallywalk.log"
	engineLogName  = "tallywalk-engine.log"
)

// serviceLogMax is how long that file may be when a service starts, in bytes; a longer
// one is kept as the one before.
const serviceLogMax = 10 << 20

// logOf is where a service writes what it says: in the folder of the data that its
// options name; else in another folder.
func logOf(args []string, other string) string {
	name := serviceLogName
	if len(args) > 0 && args[0] == "engine" {
		name = engineLogName
	}
	return filepath.Join(cmp.Or(saidValue(args, "data"), other), name)
}

// saidValue is the value of an option among words; empty where it is not there.
func saidValue(words []string, option string) string {
	for i, word := range words {
		name, value, has := strings.Cut(strings.TrimLeft(word, "-"), "=")
		switch {
		case name != option || !strings.HasPrefix(word, "-"):
		case has:
			return value
		case i+1 < len(words):
			return words[i+1]
		}
	}
	return ""
}

// serviceLog opens the log of a service to write at its end. It fails where the file
// cannot be written.
func serviceLog(name string) (*os.File, error) {
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return nil, fmt.Errorf("the log of the service: %w", err)
	}
	switch info, err := os.Stat(name); {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, fmt.Errorf("the log of the service: %w", err)
	case info.Size() > serviceLogMax:
		if err := os.Rename(name, name+".before"); err != nil {
			return nil, fmt.Errorf("the log of the service: %w", err)
		}
	}
	return os.OpenFile(name, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
}
