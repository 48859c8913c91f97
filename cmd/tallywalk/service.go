package main

import (
	"cmp"
	_ "embed"
	"fmt"
	"net"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Where the program lies unless something else is said.
const (
	usualProgram        = "/usr/local/bin/tallywalk"
	usualWindowsProgram = `C:\Program Files\tallywalk\tallywalk.exe`
)

// serviceName is what the server's service is called, on each system.
const serviceName = "tallywalk"

// service is what a service runs, and what it needs for that.
type service struct {
	name, does string   // what it is called, and what is said of it
	call       []string // command and options
	dir        string   // folder of the data
	writes     []string // other folders that it writes to
	reads      []string // files that it reads; they are only looked at for being said from the root
	listen     string
	addresses  bool // it asks the kernel for the computer's addresses
}

// serviceOf reads what is said after --: options of serve, or engine and its options. It fails with a
// usageError for what neither takes, and for what is not for a service.
func serviceOf(h host, words []string) (service, error) {
	if len(words) > 0 && words[0] == "engine" {
		c, err := engineOptions(h, words[1:])
		if err == nil && c.newSecret != "" {
			err = &usageError{"--new-secret is said once, by hand, and not by a service at each start"}
		}
		return service{
			name: serviceName + "-engine", does: "a node that keeps the record with others", call: words,
			dir:   c.data,
			reads: []string{c.secret}, listen: c.Listen, addresses: true,
		}, err
	}
	c, fresh, err := serveConfig(h, words)
	if err == nil && fresh != "" {
		err = &usageError{"--fresh is said once, by hand, and not by a service at each start"}
	}
	return service{
		name: serviceName, does: "batches on the shop floor", call: slices.Concat([]string{"serve"}, words),
		dir:    c.Dir,
		writes: []string{saidValue(words, "backup")}, // as it was said: Config has it absolute on this computer
		listen: c.Listen, addresses: c.TLS == tlsLocal,
	}, err
}

func cmdService(h host, args []string) error {
	var options []string
	if i := slices.Index(args, "--"); i >= 0 {
		args, options = args[:i], args[i+1:]
	}
	f := flags(h, "service")
	systemd := f.Bool("systemd", false, "print a unit file for systemd")
	windows := f.Bool("windows", false, "print what an administrator types for a service of Windows")
	program := f.String("program", "",
		"where the program lies ("+usualProgram+", or "+usualWindowsProgram+")")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	if *systemd == *windows {
		return &usageError{"say --systemd or --windows"}
	}
	if options == nil {
		return &usageError{
			"say the options of `tallywalk serve` after --, such as -- --data DIR, or engine and its options"}
	}
	what, err := serviceOf(h, options)
	if err != nil {
		return err
	}
	var text string
	if *systemd {
		text, err = unitFile(cmp.Or(*program, usualProgram), what)
	} else {
		text, err = windowsLines(cmp.Or(*program, usualWindowsProgram), what)
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprint(h.out, text)
	return err
}

//go:embed tallywalk.service
var unitForm string

// stateFolder is where systemd keeps a service's folders, and makes them for it.
const stateFolder = "/var/lib/"

// unitFile is a unit of systemd for a service. It fails with a usageError for places that are not said from
// / on.
//
// It runs under an account of its own, not a passing one (DynamicUser), so that copies on
// another disk keep their owner, and `sudo -u tallywalk tallywalk ...` reaches the folder.
func unitFile(program string, s service) (string, error) {
	for _, p := range slices.Concat([]string{program, s.dir}, s.writes, s.reads) {
		if p != "" && !path.IsAbs(p) {
			return "", &usageError{
				fmt.Sprintf("%q must be said from / on: a service has no folder that it is in", p)}
		}
	}
	start := make([]string, 0, len(s.call)+1)
	for _, word := range slices.Concat([]string{program}, s.call) {
		start = append(start, unitWord(word))
	}
	return strings.NewReplacer(
		"@DOES@", s.does, "@START@", strings.Join(start, " "), "@PLACES@", places(s.dir, s.writes),
		"@PORT@", portLines(s.listen), "@FAMILIES@", families(s.addresses),
	).Replace(unitForm), nil
}

// places are the folders that may be written.
func places(dir string, others []string) string {
	var lines, written []string
	if name, ok := strings.CutPrefix(path.Clean(dir), stateFolder); ok &&
		!strings.ContainsAny(name, " \t%\"'\\") {
		lines = append(lines, "StateDirectory="+name, "StateDirectoryMode=0700")
	} else {
		written = append(written, dir)
	}
	for _, p := range slices.Concat(written, others) {
		if p != "" {
			lines = append(lines, "ReadWritePaths="+unitWord(p))
		}
	}
	return strings.Join(lines, "\n")
}

// portLines are for a port below 1024, which needs a right of its own (capabilities(7)).
func portLines(listen string) string {
	_, port, err := net.SplitHostPort(listen)
	if n, e := strconv.Atoi(port); err == nil && e == nil && n > 0 && n < 1024 {
		return "CapabilityBoundingSet=CAP_NET_BIND_SERVICE\nAmbientCapabilities=CAP_NET_BIND_SERVICE"
	}
	return "CapabilityBoundingSet=\nAmbientCapabilities=\nPrivateUsers=yes"
}

// families are the kinds of sockets: of the network, and of the folder's owner. The shop's own authority
// and a node of the engine ask the kernel for the computer's addresses.
func families(addresses bool) string {
	if addresses {
		return "AF_INET AF_INET6 AF_UNIX AF_NETLINK"
	}
	return "AF_INET AF_INET6 AF_UNIX"
}

var unitPlain = regexp.MustCompile(`^[A-Za-z0-9_@%+=:,./-]+$`)

// unitWord is a word as a command line of systemd has it (systemd.service(5), command
// lines; systemd.unit(5), specifiers).
func unitWord(s string) string {
	s = strings.NewReplacer("%", "%%", "$", "$$").Replace(s)
	if unitPlain.MatchString(s) {
		return s
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(s) + `"`
}

var windowsPlace = regexp.MustCompile(`^([A-Za-z]:\\|\\\\)`)

// windowsLines are what an administrator types at a command prompt of Windows. It fails
// with a usageError for places without a drive, and for what cannot be quoted there.
func windowsLines(program string, s service) (string, error) {
	for _, p := range slices.Concat([]string{program, s.dir}, s.writes, s.reads) {
		if p != "" && !windowsPlace.MatchString(p) {
			const why = "%q must be said with its drive, such as C:\\tallywalk: a service has no folder that it is in"
			return "", &usageError{fmt.Sprintf(why, p)}
		}
	}
	line := make([]string, 0, len(s.call)+1)
	for _, word := range slices.Concat([]string{program}, s.call) {
		if strings.ContainsAny(word, "\"%\n") || strings.HasSuffix(word, `\`) {
			return "", &usageError{fmt.Sprintf("%q cannot be quoted at a command prompt", word)}
		}
		if strings.Contains(word, " ") {
			word = `\"` + word + `\"`
		}
		line = append(line, word)
	}
	return strings.Join([]string{
		`sc.exe create ` + s.name + ` start= delayed-auto obj= "NT AUTHORITY\LocalService" binPath= "` +
			strings.Join(line, " ") + `"`,
		`sc.exe description ` + s.name + ` "tallywalk: ` + s.does + `"`,
		`sc.exe failure ` + s.name + ` reset= 86400 actions= restart/2000/restart/10000/restart/60000`,
		`mkdir "` + s.dir + `"`,
		`icacls "` + s.dir + `" /inheritance:r /grant "Administrators:(OI)(CI)F" "LOCAL SERVICE:(OI)(CI)F"`,
		`sc.exe start ` + s.name,
		"",
	}, "\r\n"), nil
}
