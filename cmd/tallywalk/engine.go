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

// cmdEngine runs a node of the engine as a process of its own, so that a server that crashes takes no copy of
// the record with it: the others go on after 2 s instead of up to 10.
func cmdEngine(h host, args []string) error {
	o, newSecret, verbose, err := engineOptions(h, args)
	if err != nil {
		return err
	}
	if newSecret != "" {
		if err := secret.Make(newSecret); err != nil {
			return err
		}
		fmt.Fprintf(h.out, "made %s; copy it to every computer that runs a node or a server of this "+
			"record, and to no other: "+
			"who has it can read and change the record\n", newSecret)
		return nil
	}
	level := slog.LevelInfo
	if verbose {
		level = slog.LevelDebug
	}
	o.Log = slog.New(slog.NewTextHandler(h.err, &slog.HandlerOptions{Level: level}))
	e, err := engine.Start(h.ctx, o)
	if err != nil {
		return err
	}
	fmt.Fprintf(h.out, "node %s answers on %s\n", o.Name, e.URL())
	h.ready(e.URL())
	err = e.Wait(h.ctx)
	return errors.Join(err, e.Close())
}

// engineOptions reads the call. What a node itself refuses is left to it.
func engineOptions(h host, args []string) (o engine.Options, newSecret string, verbose bool, err error) {
	f := flags(h, "engine")
	data := dataFlag(f)
	f.StringVar(&o.Name, "name", "", "what this node is called among the others, for ever: letters, "+
		"digits, - and _ (needed)")
	f.StringVar(&o.Listen, "listen", "127.0.0.1:4222", "where servers reach this node")
	f.StringVar(&o.Peers, "cluster", "", "where the other nodes reach this one, as 10.0.0.5:6222; without "+
		"it this node is alone")
	routes := f.String("routes", "", "where all nodes are reached by each other, this one included, as "+
		"nats://a:6222,nats://b:6222,nats://c:6222")
	file := f.String("secret", "", "file with the secret that all nodes and servers of this record have; "+
		"needed beyond this computer")
	f.StringVar(&newSecret, "new-secret", "", "make a secret in a file that is not there yet, and end")
	f.BoolVar(&verbose, "verbose", false, "say all that the engine says of itself")
	words, err := parse(h, f, args)
	if err == nil {
		err = noWords(words)
	}
	if err != nil || newSecret != "" {
		return o, newSecret, verbose, err
	}
	if *data == "" || o.Name == "" {
		return o, "", verbose, &usageError{"say --name and what this node is called, and --data and the " +
			"folder of the shop's data"}
	}
	o.Dir, o.Routes = filepath.Join(*data, engineDir), routeList(*routes)
	if *file != "" {
		o.Secret, err = secret.Read(*file)
	}
	return o, "", verbose, err
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
