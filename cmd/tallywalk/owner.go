package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
)

// A data folder has one owner. When a server runs, sub-commands hand their
// request to it through a socket in the folder; else they open the file
// themselves.

// request is what a sub-command wants done with a data folder.
type request struct {
	Do     string `json:"do"`
	Kind   string `json:"kind,omitempty"`
	File   string `json:"file,omitempty"` // for messages only
	Format string `json:"format,omitempty"`
	Paper  string `json:"paper,omitempty"`
	// Language is that of what is printed; empty is the shop's.
	Language string   `json:"language,omitempty"`
	Role     string   `json:"role,omitempty"`
	Name     string   `json:"name,omitempty"`
	Days     int      `json:"days,omitempty"`
	Zone     string   `json:"zone,omitempty"`
	Refs     []string `json:"refs,omitempty"`
	DryRun   bool     `json:"dry_run,omitempty"`
	Figures  bool     `json:"figures,omitempty"`
	Part     string   `json:"part,omitempty"`
	AsOf     string   `json:"as_of,omitempty"`
	From     string   `json:"from,omitempty"` // a date
	To       string   `json:"to,omitempty"`
	// Mapping is the text of the file that says what the columns of an old log
	// are, and MapName its name for messages.
	Mapping string `json:"mapping,omitempty"`
	MapName string `json:"map_name,omitempty"`
	URL     string `json:"url,omitempty"`
	// Dir is the folder that a backup goes to; Heads are the ends of before that
	// verify compares, Against the name of an export that it reads.
	Dir     string   `json:"dir,omitempty"`
	Heads   []string `json:"heads,omitempty"`
	Against string   `json:"against,omitempty"`
	// Progress is whether it is said how far it is, see progressMark.
	Progress bool `json:"progress,omitempty"`
}

const (
	requestHeader = "Tallywalk-Request"
	errorTrailer  = "Tallywalk-Error"
	statusTrailer = "Tallywalk-Status" // the exit status that the error calls for
	maxSocketPath = 100                // the system's limit is 104 to 108 bytes
)

// socketPath is where the owner of a folder listens.
func socketPath(dir string) (string, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	p := filepath.Join(abs, "tallywalk.sock")
	if len(p) > maxSocketPath {
		sum := sha256.Sum256([]byte(abs))
		p = filepath.Join(os.TempDir(), "tallywalk-"+hex.EncodeToString(sum[:8])+".sock")
	}
	return p, nil
}

// own answers requests on the folder's socket; the function it returns ends it.
func (hs *house) own(ctx context.Context, dir string) (func(), error) {
	path, err := socketPath(dir)
	if err != nil {
		return nil, err
	}
	// The file's lock is ours, so a socket that lies here is a dead owner's.
	if err := os.Remove(path); err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("the socket %s of an earlier run cannot be removed: %w", path, err)
	}
	ln, err := net.Listen("unix", path)
	if err != nil {
		return nil, fmt.Errorf("cannot listen for other commands in %s: %w", dir, err)
	}
	if err := os.Chmod(path, 0o600); err != nil {
		return nil, errors.Join(err, ln.Close())
	}
	srv := &http.Server{Handler: http.HandlerFunc(hs.answer), ReadHeaderTimeout: 5 * time.Second,
		BaseContext: func(net.Listener) context.Context { return ctx }}
	go func() { _ = srv.Serve(ln) }()
	return func() { _ = srv.Close() }, nil
}

func (hs *house) answer(w http.ResponseWriter, r *http.Request) {
	var req request
	if err := json.Unmarshal([]byte(r.Header.Get(requestHeader)), &req); err != nil {
		http.Error(w, "no request", http.StatusBadRequest)
		return
	}
	w.Header().Set("Trailer", errorTrailer+", "+statusTrailer)
	w.WriteHeader(http.StatusOK)
	if err := hs.do(r.Context(), req, r.Body, w); err != nil {
		w.Header().Set(errorTrailer, url.QueryEscape(sentence(err)))
		w.Header().Set(statusTrailer, strconv.Itoa(statusOf(err)))
	}
}

// at does a request at a data folder, by its running server if there is one.
func at(h host, dir string, req request, in io.Reader) (err error) {
	if err := needData(dir); err != nil {
		return err
	}
	if req.Progress {
		w := &progressWriter{out: h.out, err: h.err, terminal: isTerminal(h.err)}
		h.out = w
		defer func() { err = errors.Join(err, w.close()) }()
	}
	if done, err := askOwner(h, dir, req, in); done {
		return err
	}
	if _, err := os.Stat(dir); err != nil && req.Do != "import" {
		return fmt.Errorf("there is no folder %s; say --data and the folder that the shop's data is in", dir)
	}
	hs, err := openFor(dir, h, req)
	if err != nil {
		return err
	}
	if req.Do == "export" {
		hs.sayChecked(h.err)
	}
	return errors.Join(hs.do(h.ctx, req, in, h.out), hs.close())
}

// openFor opens a data folder for a request. Only what brings something in
// begins a record; what is only tried out leaves nothing behind.
func openFor(dir string, h host, req request) (*house, error) {
	if req.Do == "verify" && !req.Figures {
		return lookHouse(dir, h)
	}
	opt := store.Options{Now: h.now, Rand: h.rand, Must: req.Do != "import" && req.Do != "token"}
	if req.DryRun {
		if _, err := os.Stat(filepath.Join(dir, store.FileName)); errors.Is(err, os.ErrNotExist) {
			return memoryHouse(h)
		}
	}
	return openHouseWith(dir, h, opt)
}

func askOwner(h host, dir string, req request, in io.Reader) (done bool, err error) {
	path, err := socketPath(dir)
	if err != nil {
		return false, nil
	}
	conn, err := net.Dial("unix", path)
	if err != nil {
		return false, nil // no owner
	}
	_ = conn.Close()
	client := http.Client{
		Transport: &http.Transport{DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
			return (&net.Dialer{}).DialContext(ctx, "unix", path)
		}}}
	head, err := json.Marshal(req)
	if err != nil {
		return true, err
	}
	r, err := http.NewRequestWithContext(h.ctx, http.MethodPost, "http://owner/", in)
	if err != nil {
		return true, err
	}
	r.Header.Set(requestHeader, string(head))
	resp, err := client.Do(r)
	if err != nil {
		return true, fmt.Errorf("the server that has %s open does not answer; try again, or end it: %w", dir,
			err)
	}
	defer func() { _ = resp.Body.Close() }()
	if _, err := io.Copy(h.out, resp.Body); err != nil {
		return true, err
	}
	if s, err := url.QueryUnescape(resp.Trailer.Get(errorTrailer)); err != nil || s != "" {
		code, _ := strconv.Atoi(resp.Trailer.Get(statusTrailer))
		return true, &statusError{max(1, code), errors.New(s)}
	}
	return true, nil
}

// do does a request.
func (hs *house) do(ctx context.Context, req request, in io.Reader, out io.Writer) error {
	switch req.Do {
	case "import":
		return hs.doImport(ctx, req, in, out)
	case "export":
		return hs.doExport(req, out)
	case "cards":
		return hs.doCards(req, out)
	case "verify":
		return hs.doVerify(ctx, req, in, out)
	case "ahead":
		return hs.doAhead(ctx, req, out)
	case "head":
		return hs.doHead(out)
	case "doctor":
		return hs.doDoctor(out)
	case "backup":
		return hs.doBackup(ctx, req, out)
	case "person":
		return hs.doPerson(req, out)
	case "token":
		return hs.doToken(req, out)
	case "tokens":
		return hs.doTokens(out)
	case "revoke":
		return hs.doRevoke(req, out)
	}
	return traveler.Fail(traveler.KindInvalid, "web.nothing", req.Do)
}
