package main

import (
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"

	"github.com/gofiber/fiber/v2"
	bolt "go.etcd.io/bbolt"

	"tallywalk/traveler"
)

// The bare server is the measure for scans through HTTP: the same libraries, the
// same body, the same rows in the same file, and nothing of a shop. It decodes
// the scan, puts it under its sequence and its id, as many together as wait, and
// answers when that is on the disk.
type bareServer struct {
	db    *bolt.DB
	queue chan *bareScan
}

type bareScan struct {
	id   []byte
	body []byte
	seq  uint64
	done chan error
}

type bareResult struct {
	ID      traveler.ScanID `json:"id"`
	Outcome string          `json:"outcome"`
	Seq     uint64          `json:"seq"`
}

const bareLen = 256 // scans in one transaction, as the desk's

// bareMain is the command `barescans DIR`.
func bareMain() {
	debug.SetGCPercent(growth)
	debug.SetMemoryLimit(softLimit)
	if err := serveBare(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "barescans:", err)
		os.Exit(1)
	}
}

func serveBare(dir string) error {
	db, err := bolt.Open(filepath.Join(dir, "bare.db"), 0o600, nil)
	if err != nil {
		return err
	}
	s := &bareServer{db, make(chan *bareScan, 1024)}
	go s.write()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	app := fiber.New(fiber.Config{DisableStartupMessage: true})
	app.Post("/api/v1/scans", s.post)
	fmt.Printf("barescans answers on http://%s\n", ln.Addr())
	return app.Listener(ln)
}

func (s *bareServer) post(c *fiber.Ctx) error {
	var in struct{ Scans []traveler.Scan }
	if err := json.Unmarshal(c.Body(), &in); err != nil {
		return err
	}
	out := make([]bareResult, len(in.Scans))
	for i := range in.Scans {
		x := &bareScan{done: make(chan error, 1)}
		var err error
		if x.id, err = hex.DecodeString(strings.ReplaceAll(string(in.Scans[i].ID), "-", "")); err != nil {
			return err
		}
		x.body = make([]byte, 200) // what a row of the record comes to
		copy(x.body, in.Scans[i].Card)
		s.queue <- x
		if err := <-x.done; err != nil {
			return err
		}
		out[i] = bareResult{in.Scans[i].ID, "kept", x.seq}
	}
	return c.JSON(fiber.Map{"results": out})
}

func (s *bareServer) write() {
	seq := uint64(0)
	for first := range s.queue {
		group := []*bareScan{first}
		for len(s.queue) > 0 && len(group) < bareLen {
			group = append(group, <-s.queue)
		}
		err := s.db.Update(func(tx *bolt.Tx) error { return putBare(tx, group, &seq) })
		for _, x := range group {
			x.done <- err
		}
	}
}

func putBare(tx *bolt.Tx, group []*bareScan, seq *uint64) error {
	record, err := tx.CreateBucketIfNotExists([]byte("record"))
	if err != nil {
		return err
	}
	ids, err := tx.CreateBucketIfNotExists([]byte("ids"))
	if err != nil {
		return err
	}
	record.FillPercent = 0.95
	for _, x := range group {
		*seq++
		x.seq = *seq
		key := binary.BigEndian.AppendUint64(nil, x.seq)
		if err := record.Put(key, x.body); err != nil {
			return err
		}
		if err := ids.Put(x.id, key); err != nil {
			return err
		}
	}
	return nil
}
