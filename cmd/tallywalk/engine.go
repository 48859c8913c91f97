package main

import (
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"strings"

	"tallywalk/store/engine"
	"tallywalk/store/secret"
)

// engineDir is the folder of a node in the folder of the shop's data.
const engineDir = "engine"

// engineCall is what a call of the command says.
type engineCall struct {
	engine.Options
	data, secret string // folder of the shop's data, file of the secret
	newSecret    string // file to make a secret in; empty = a node is run
	verbose      bool
}

// cmdEngine runs a node of the engine as a process of its own, so that a server that crashes takes no copy of
// the record with it: the others go on after 2 s instead of up to 10.
func cmdEngine(h host, args []string) error {
	c, err := engineOptions(h, args)
	if err != nil {
		return err
	}
	if c.newSecret != "" {
		return makeSecret(h, c.newSecret)
	}
	if c.secret != "" {
		if c.Secret, err = secret.Read(c.secret); err != nil {
			return err
		}
	}
	level := slog.LevelInfo
	if c.verbose {
		level = slog.LevelDebug
	}
	c.Log = slog.New(slog.NewTextHandler(h.err, &slog.HandlerOptions{Level: level}))
	e, err := engine.Start(h.ctx, c.Options)
	if err != nil {
		return err
	}
	fmt.Fprintf(h.out, "node %s answers on %s\n", c.Name, e.URL())
	h.ready(e.URL())
	err = e.Wait(h.ctx)
	return errors.Join(err, e.Close())
}

func makeSecret(h host, file string) error {
	if err := secret.Make(file); err != nil {
		return err
	}
	fmt.Fprintf(h.out,
		"made %s; copy it to every computer that runs a node or a server of this record, and to no "+
			"other: who has it can read and change the record\n", file)
	return nil
}

// engineOptions reads the call. What a node itself refuses is left to it.
func engineOptions(h host, args []string) (c engineCall, err error) {
	f := flags(h, "engine")
	data := dataFlag(f)
	f.StringVar(&c.Name, "name", "",
		"what this node is called among the others, for ever: letters, digits, - and _ (needed)")
	f.StringVar(&c.Listen, "listen", "127.0.0.1:4222", "where servers reach this node")
	f.StringVar(&c.Peers, "cluster", "",
		"where the other nodes reach this one, as 10.0.0.5:6222; without it this node is alone")
	routes := f.String("routes", "", "where all nodes are reached by each other, this one included, "+
		"as nats://a:6222,nats://b:6222,nats://c:6222")
	f.StringVar(&c.secret, "secret", "",
		"file with the secret that all nodes and servers of this record have; "+
			"needed beyond this computer")
	f.StringVar(&c.newSecret, "new-secret", "", "make a secret in a file that is not there yet, and end")
	f.BoolVar(&c.verbose, "verbose", false, "say all that the engine says of itself")
	words, err := parse(h, f, args)
	if err == nil {
		err = noWords(words)
	}
	if err != nil || c.newSecret != "" {
		return c, err
	}
	if *data == "" || c.Name == "" {
		return c, &usageError{
			"say --name and what this node is called, and --data and the folder of the shop's data"}
	}
	c.data, c.Dir, c.Routes = *data, filepath.Join(*data, engineDir), routeList(*routes)
	return c, nil
}

// routeList takes apart what --routes says.
func routeList(text string) (routes []string) {
	for route := range strings.SplitSeq(text, ",") {
		if route = strings.TrimSpace(route); route != "" {
			routes = append(routes, route)
		}
	}
	return routes
}
