package main

import "fmt"

// version is the version of the program. cmd/pack reads this line.
const version = "0.1.0"

// commit is what the program was packed from; cmd/pack sets it, with the linker.
var commit string

// builtFrom is the version, with the commit where that is known.
func builtFrom() string {
	if commit == "" {
		return version
	}
	return version + ", commit " + commit
}

func cmdVersion(h host, args []string) error {
	words, err := parse(h, flags(h, "version"), args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	fmt.Fprintln(h.out, "tallywalk", builtFrom())
	return nil
}
