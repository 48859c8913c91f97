package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"regexp"
	"strings"
	"syscall"
	"time"

	"tallywalk/traveler"
)

// host is the world around the program, so that a test can run all of it.
type host struct {
	ctx      context.Context
	in       io.Reader
	out, err io.Writer
	now      func() time.Time
	steady   func() time.Duration // a clock that nobody sets; nil where now is none
	rand     io.Reader
	// ready gets the base URL once a server answers; for tests.
	ready func(url string)
}

func realHost() host {
	ctx, _ := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	return host{ctx: ctx, in: os.Stdin, out: os.Stdout, err: os.Stderr, now: time.Now, steady: steady(),
		rand: rand.Reader, ready: func(string) {}}
}

// command is one sub-command.
type command struct {
	name, args, what string
	run              func(h host, args []string) error
}

func commands() []command {
	return []command{
		{"demo", "", "run an invented shop on this computer, with its history, on a faster clock", cmdDemo},
		{"serve", "--data DIR", "run the shop's server", cmdServe},
		{"import", "machines|corners|aisles|calendars|reasons|people|routes|batches|scans FILE --data DIR",
			"read a list as CSV or XLSX; scans that were exported; or, with --mapping, an old log",
			cmdImport},
		{"export", "batches|visits|scans --data DIR", "write them as CSV, XLSX or JSON Lines", cmdExport},
		{"cards", "[CODE|WORKS ORDER ...] --data DIR", "print job cards as PDF", cmdCards},
		{"backup", "--to DIR --data DIR", "write a copy of the record while it is used, and check it",
			cmdBackup},
		{"restore", "COPY --data DIR",
			"put a copy back into a folder that has no record; stations send again what it lacks",
			cmdRestore},
		{
			"verify", "[--head SEQ:HASH] [--against COPY|SCANS] [--remake] --data DIR",
			"check the record from its first scan to its last, that no piece is lost, and that the ledger is what the record\n" +
				"           comes to; status 0 when all is well, 1 when the record is not whole or cannot be checked, 2 when the call\n" +
				"           cannot be understood, 3 when the record is whole but its ledger or its pieces are not", cmdVerify,
		},
		{"doctor", "--data DIR",
			"print what someone who is asked for help needs to know of the record and this computer, without names", cmdDoctor},
		{"ahead", "[--as-of TIME] --data DIR",
			"print as JSON when each batch on the floor may be done, as of now or of a past moment, from what was known then", cmdAhead},
		{
			"move", "--from DIR --to nats://HOST:PORT,... --stream NAME",
			"bring a record from one folder to engines, so that several servers keep it, or back (--from nats://... --to DIR); the old place is closed", cmdMove,
		},
		{"trust", "[--out FILE] --data DIR", "say what devices must trust for HTTPS, and write it to a file",
			cmdTrust},
		{"token", "--role ROLE [--name NAME --days N] | --list | --revoke NAME --data DIR",
			"make a bearer token for a program; list and revoke them", cmdToken},
		{
			"person", "NUMBER --export | --pseudonym TEXT --data DIR",
			"print what is kept of one person, or put a pseudonym in the place of their name, for good",
			cmdPerson,
		},
		{
			"engine", "--name NAME --data DIR --listen HOST:PORT [--cluster HOST:PORT --routes NODES] [--secret FILE] | --new-secret FILE",
			"run one of the nodes that keep a record on several computers, or make the secret that they know each other by", cmdEngine,
		},
		{"service", "--systemd|--windows [--program FILE] -- OPTIONS OF serve | engine OPTIONS",
			"print what makes the server, or a node, start with the computer", cmdService},
		{"version", "", "say which version this is", cmdVersion},
	}
}

// usageError is a call that cannot be understood.
type usageError struct{ msg string }

func (e *usageError) Error() string { return e.msg }

// statusError is an error that calls for an exit status of its own.
type statusError struct {
	code int
	err  error
}

func (e *statusError) Error() string { return sentence(e.err) }
func (e *statusError) Unwrap() error { return e.err }

// statusOf is the exit status of a command that failed.
func statusOf(err error) int {
	if se := (*statusError)(nil); errors.As(err, &se) {
		return se.code
	}
	return 1
}

// run runs one call of the program and gives its exit status: 0 done, 1 failed,
// 2 not understood, or what the command says of itself.
func run(args []string, h host) int {
	if len(args) == 0 || args[0] == "-h" || args[0] == "--help" || args[0] == "help" {
		usage(h.out)
		return 0
	}
	for _, c := range commands() {
		if c.name != args[0] {
			continue
		}
		return status(h, c.name, c.run(h, args[1:]))
	}
	fmt.Fprintf(h.err, "tallywalk: there is no command %q; `tallywalk -h` lists them\n", args[0])
	return 2
}

func status(h host, name string, err error) int {
	var ue *usageError
	switch {
	case err == nil || errors.Is(err, flag.ErrHelp):
		return 0
	case errors.As(err, &ue):
		fmt.Fprintf(h.err, "tallywalk %s: %s; see `tallywalk %s -h`\n", name, ue.msg, name)
		return 2
	}
	fmt.Fprintf(h.err, "tallywalk %s: %s\n", name, sentence(err))
	return statusOf(err)
}

// sentence is what a person needs of an error.
func sentence(err error) string {
	var te *traveler.Error
	if errors.As(err, &te) && te.Kind != traveler.KindInternal {
		s := te.Say.Text("en")
		if te.Field != "" {
			s = te.Field + " " + s
		}
		return s
	}
	return err.Error()
}

func usage(w io.Writer) {
	fmt.Fprintln(w, "tallywalk follows batches of parts through the shop: a QR card for each batch, a scan at each machine,\nlive boards and history.\n\nCommands:")
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-8s %s\n           %s\n", c.name, c.args, c.what)
	}
	fmt.Fprintln(w, "\nEvery command has -h.")
}

// flags makes the flag set of a command; its errors come back as usage errors.
func flags(h host, name string) *flag.FlagSet {
	f := flag.NewFlagSet(name, flag.ContinueOnError)
	f.SetOutput(io.Discard)
	return f
}

// parse reads flags and other words in any order.
func parse(h host, f *flag.FlagSet, args []string) ([]string, error) {
	var words []string
	for len(args) > 0 {
		err := f.Parse(args)
		if errors.Is(err, flag.ErrHelp) {
			for _, c := range commands() {
				if c.name == f.Name() {
					fmt.Fprintf(h.out, "tallywalk %s %s\n%s\n", c.name, c.args, c.what)
				}
			}
			f.SetOutput(h.out)
			f.PrintDefaults()
			return nil, err
		}
		if err != nil {
			return nil, &usageError{optionFault(err)}
		}
		args = f.Args()
		if len(args) > 0 {
			words = append(words, args[0])
			args = args[1:]
		}
	}
	return words, nil
}

// optionFault says what is wrong with an option, in our own words: the flag
// package writes options with one dash and speaks of parsing.
func optionFault(err error) string {
	text := strings.TrimPrefix(err.Error(), "flag ")
	if name, ok := strings.CutPrefix(text, "provided but not defined: -"); ok {
		return "there is no option --" + name
	}
	if name, ok := strings.CutPrefix(text, "needs an argument: -"); ok {
		return "--" + name + " needs a value"
	}
	if m := badValue.FindStringSubmatch(text); m != nil {
		why := m[4]
		switch {
		case m[1] != "" && why == "parse error":
			why = "is neither true nor false"
		case why == "parse error", why == "value out of range":
			why = "is not a number that it takes"
		}
		return fmt.Sprintf("--%s: %q %s", m[3], m[2], why)
	}
	return text
}

var badValue = regexp.MustCompile(`(?s)^invalid (boolean )?value "(.*)" for (?:flag )?-([^:]+): (.*)$`)

// noWords refuses words beside the options of a command that takes none.
func noWords(words []string) error {
	if len(words) > 0 {
		return &usageError{fmt.Sprintf("%q is not expected here", words[0])}
	}
	return nil
}

func dataFlag(f *flag.FlagSet) *string {
	return f.String("data", "", "folder of the shop's data (needed)")
}

// languageFlag takes the code of a language that there are words in.
func languageFlag(f *flag.FlagSet, of string) *string {
	var code string
	list := strings.Join(traveler.Languages(), ", ")
	f.Func("language", "the language "+of+": "+list, func(s string) error {
		if !traveler.IsLanguage(s) {
			return errors.New("must be one of " + list)
		}
		code = s
		return nil
	})
	return &code
}

func needData(dir string) error {
	if dir == "" {
		return &usageError{"say --data and the folder of the shop's data"}
	}
	return nil
}
