package main

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/store/secret"
	"tallywalk/store/stream"
	"tallywalk/traveler/story"
)

// together says how several servers keep one record; the zero value is a record in one
// file.
type together struct {
	urls    []string
	stream  string
	name    string // of this server
	secret  string // file that all computers of the record have; empty = none
	address string // where stations and screens reach this server
}

func (t *together) flags(f *flag.FlagSet) {
	f.Func("record",
		"engines that keep the record for several servers, the nearest first: nats://a:4222,nats://b:4222",
		t.at)
	t.known(f)
	f.StringVar(&t.name, "name", "", "of this server among those that keep the record (this computer's name)")
	f.StringVar(&t.address, "address", "",
		"where stations and screens reach this server, such as http://hall2:8080")
}

// at takes the addresses of engines.
func (t *together) at(list string) error {
	for _, u := range strings.Split(list, ",") {
		if !strings.HasPrefix(u, "nats://") || len(u) == len("nats://") {
			return &usageError{"engines are such as nats://hall1:4222,nats://hall2:4222"}
		}
		t.urls = append(t.urls, u)
	}
	return nil
}

// known takes by what the engines know the record and who may ask for it.
func (t *together) known(f *flag.FlagSet) {
	f.StringVar(&t.stream, "stream", "", "name of the shared record, such as SHOP")
	f.StringVar(&t.secret, "secret", "", "file with the secret that the engines have too")
}

var streamName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]{0,31}$`)

// settle checks what was said; it fails with a usageError.
func (t *together) settle() error {
	switch {
	case len(t.urls) == 0 && t.stream+t.name+t.secret+t.address != "":
		return &usageError{"--stream, --name, --secret and --address go with --record"}
	case len(t.urls) > 0 && !streamName.MatchString(t.stream):
		return &usageError{
			"--stream NAME goes with --record: up to 32 letters, digits, - and _, beginning with a letter"}
	}
	if t.name == "" {
		name, err := os.Hostname()
		if err != nil {
			name = "server"
		}
		t.name = name
	}
	return nil
}

// options are those of the stream.
func (t *together) options(h host, progress io.Writer) (stream.Options, error) {
	opt := stream.Options{
		URLs: t.urls, Stream: t.stream, Name: t.name, Address: t.address, Now: h.now, Real: time.Now,
		Log: slog.New(slog.NewTextHandler(h.err, nil)),
	}
	if t.secret != "" {
		var err error
		if opt.Secret, err = secret.Read(t.secret); err != nil {
			return opt, err
		}
	}
	said := time.Now()
	opt.Progress = func(done, of uint64) {
		if now := time.Now(); now.Sub(said) > time.Second {
			said = now
			fmt.Fprintf(progress, "%s of %s read ...\n", grouped(int(done)), grouped(int(of)))
		}
	}
	return opt, nil
}

// ownTables are those that each server keeps for itself: forecasts, which each works out,
// and when a copy of its own file was made.
var ownTables = []string{"ahead", tableKeeping}

// againEvery is how often a server tries to join the record while the engines do not answer:
// after a power cut they need a while.
const againEvery = 2 * time.Second

// openTogether opens this server's part of a record that several keep, and waits for the
// engines as long as it takes. A part that is lost or broken is made again: the record is
// with the others.
func openTogether(ctx context.Context, dir string, h host, t together) (*house, error) {
	opt, err := t.options(h, h.out)
	if err != nil {
		return nil, err
	}
	for said := false; ; said = true {
		hs, err := openPart(dir, h)
		if err != nil {
			return nil, err
		}
		err = hs.join(ctx, opt)
		if err == nil {
			return hs, nil
		}
		if !stream.Passing(err) || ctx.Err() != nil {
			return nil, err
		}
		if !said {
			fmt.Fprintln(h.err, "Waiting:", sentence(err))
		}
		again := time.NewTimer(againEvery)
		select {
		case <-ctx.Done():
			again.Stop()
			return nil, err
		case <-again.C:
		}
	}
}

// join opens the record, the tables and the desk over this server's part.
func (hs *house) join(ctx context.Context, opt stream.Options) error {
	log, err := stream.Open(ctx, hs.file, opt)
	if err != nil {
		return err
	}
	hs.log, hs.servers = log, log
	if err := hs.openShared(ctx); err != nil {
		return errors.Join(err, log.Close())
	}
	return nil
}

func (hs *house) openShared(ctx context.Context) error {
	tables, err := stream.Share(ctx, hs.file, hs.servers, ownTables...)
	if err != nil {
		return err
	}
	hs.tables = tables
	if err := hs.keepErased(); err != nil {
		return err
	}
	own, err := desk.New(hs.servers,
		desk.Options{Now: hs.host.now, Steady: hs.host.steady, Rand: hs.host.rand})
	if err != nil {
		return err
	}
	d, err := stream.Over(own, hs.servers)
	if err != nil {
		return errors.Join(err, own.Close())
	}
	hs.desk = d
	return nil
}

// sole reports whether this server does what only one may: the one that decides.
func (hs *house) sole() func() bool {
	if hs.servers == nil {
		return nil
	}
	return hs.servers.Decides
}

// flush writes what the file lacks of a record that several servers keep, so that a copy
// has all that was answered. Where that fails the copy is what there is, and the page of
// health says it.
func (hs *house) flush() {
	if hs.servers != nil {
		_ = hs.servers.Flush()
	}
}

// others knows the servers of the record; nil where this one is alone.
func (hs *house) others() story.Servers {
	if hs.servers == nil {
		return nil
	}
	return hs.servers
}

// onNews calls a function when another server changed a row, or another one decides.
func (hs *house) onNews(look func()) {
	if shared, ok := hs.tables.(*stream.Tables); ok {
		shared.OnChange(look)
		hs.servers.OnTurn(look)
	}
}

// openPart opens this server's own file. One that cannot be read is laid aside.
func openPart(dir string, h host) (*house, error) {
	hs, err := lookPart(dir, h)
	if !store.Broken(err) {
		return hs, err
	}
	path := filepath.Join(dir, store.FileName)
	aside := path + "." + h.now().UTC().Format("20060102T150405Z") + ".broken"
	if rerr := os.Rename(path, aside); rerr != nil {
		return nil, errors.Join(err, rerr)
	}
	fmt.Fprintf(h.err,
		"This server's own file was broken (%s). It lies in %s, and is made again from the record that the others have.\n", sentence(err), aside)
	return lookPart(dir, h)
}

// lookPart opens it and walks its newest part.
func lookPart(dir string, h host) (*house, error) {
	file, err := store.Open(dir, store.Options{Now: h.now, Rand: h.rand, Elsewhere: true})
	if err != nil {
		return nil, err
	}
	hs := &house{file: file, tables: file.Tables(), host: h}
	if err := hs.checkNewest(); err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return hs, nil
}

// addressAt is where stations reach a server that was given no address.
func (t *together) addressAt(addr net.Addr, secured bool) string {
	return cmp.Or(strings.TrimSuffix(t.address, "/"), over(publicURL(addr), secured))
}
