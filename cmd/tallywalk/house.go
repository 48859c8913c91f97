package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"time"

	"tallywalk/store"
	"tallywalk/store/desk"
	"tallywalk/store/stream"
	"tallywalk/traveler"
	"tallywalk/traveler/story"

	"golang.org/x/text/currency"
)

// house is an open data folder: the record's file and the desk over it.
type house struct {
	file   *store.File // nil when the house is only in memory
	log    story.Log
	desk   stream.Own
	tables story.Tables
	host   host
	// served is the desk of the server that runs: what it releases is printed where the
	// shop wants that. nil while none runs.
	served story.Desk

	servers *stream.Log // the log, where several servers keep it; nil else

	copies  string // folder of copies that are made while it serves; empty for none
	checked int    // entries walked when it was opened
}

// newest is how many entries at the end of a record are walked when it is opened.
const newest = 20_000

// openHouse opens a data folder, and begins a record when it has none.
func openHouse(dir string, h host) (*house, error) {
	return openHouseWith(dir, h, store.Options{Now: h.now, Rand: h.rand})
}

// openHouseWith opens a data folder. A record whose newest part is broken is
// refused: what is written after it would be lost with it.
func openHouseWith(dir string, h host, opt store.Options) (*house, error) {
	file, err := store.Open(dir, opt)
	if err != nil {
		return nil, err
	}
	hs := &house{file: file, log: file, tables: file.Tables(), host: h}
	if err := hs.openAlone(); err != nil {
		_ = file.Close()
		return nil, err
	}
	return hs, nil
}

// openAlone opens a desk over the file alone.
func (hs *house) openAlone() error {
	if err := hs.file.Part(); err != nil {
		return err
	}
	if err := hs.keepErased(); err != nil {
		return err
	}
	if err := hs.checkNewest(); err != nil {
		return err
	}
	d, err := desk.New(hs.file, desk.Options{Now: hs.host.now, Steady: hs.host.steady, Rand: hs.host.rand})
	if err == nil {
		hs.desk = d
	}
	return err
}

// checkNewest walks the newest part of the record.
func (hs *house) checkNewest() (err error) {
	if hs.checked, err = store.VerifyNewest(hs.file, newest); err != nil {
		return traveler.Fail(traveler.KindCorrupt, "store.broken", hs.file.Path(), sentence(err))
	}
	return nil
}

// lookHouse opens a data folder without a desk, to read it as it lies: nothing is
// written, and a ledger with which no desk opens can be looked at too.
func lookHouse(dir string, h host) (*house, error) {
	file, err := store.Open(dir, store.Options{Look: true})
	if err != nil {
		return nil, err
	}
	return &house{file: file, log: file, tables: file.Tables(), host: h}, nil
}

// memoryHouse is a house without a folder, to try out what would be imported.
func memoryHouse(h host) (*house, error) {
	log := store.NewMem()
	desk, err := desk.New(log, desk.Options{Now: h.now, Rand: h.rand})
	return &house{log: log, desk: desk, tables: log.Tables(), host: h}, err
}

func (hs *house) close() error {
	var err error
	if hs.desk != nil {
		err = hs.desk.Close()
	}
	if cerr := hs.log.Close(); err == nil {
		err = cerr
	}
	return err
}

// sayChecked says how much of the record was walked when it was opened.
func (hs *house) sayChecked(w io.Writer) {
	if end, _ := hs.log.Head(); end > 0 {
		fmt.Fprintf(w, "Checked the newest %s of %s entries; `tallywalk verify` walks them all.\n",
			grouped(hs.checked), grouped(int(end)))
	}
}

// grouped is a number as people read it: 1,480,000.
func grouped(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// settings are what the shop fixed once.
type settings struct {
	PublicURL string `json:"public_url"`
	Given     bool   `json:"given"` // someone chose PublicURL
	Zone      string `json:"zone"`
	Currency  string `json:"currency"` // ISO 4217
	Printed   bool   `json:"printed"`  // a card was printed with the public URL
	// Language is what those read who choose none; empty is English.
	Language string `json:"language,omitempty"`
	// TLS is whether the last server spoke TLS itself, on the port of PublicURL, which is
	// then kept as it is without; TLSPrinted is whether a card was printed with that.
	TLS        bool `json:"tls,omitempty"`
	TLSPrinted bool `json:"tls_printed,omitempty"`
}

// base is the address that cards carry now.
func (s settings) base() string {
	if s.TLS {
		return over(s.PublicURL, true)
	}
	return s.PublicURL
}

const tableSettings, keySettings = "settings", "shop"

func (hs *house) settings() (settings, error) {
	var s settings
	b, err := hs.tables.Get(tableSettings, keySettings)
	if err != nil || b == nil {
		return s, err
	}
	return s, json.Unmarshal(b, &s)
}

func (hs *house) keep(s settings) error {
	b, err := json.Marshal(s)
	if err != nil {
		return err
	}
	return hs.tables.Put(tableSettings, keySettings, b)
}

// usualCurrency is that of a shop that has named none.
const usualCurrency = "EUR"

// currencyOf is the shop's currency as ISO 4217 writes it.
func currencyOf(name string) (string, error) {
	u, err := currency.ParseISO(cmp.Or(name, usualCurrency))
	if err != nil {
		return "", &usageError{
			"there is no currency " + name + "; say one by its three letters, such as " + usualCurrency}
	}
	return u.String(), nil
}

// zone is the shop's time zone by name; the computer's own when none was fixed.
func zoneOf(name string) (*time.Location, error) {
	if name == "" {
		return time.Local, nil
	}
	z, err := time.LoadLocation(name)
	if err != nil {
		return nil, &usageError{"there is no time zone " + name + "; say one such as Europe/Berlin"}
	}
	return z, nil
}
