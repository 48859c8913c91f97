package main

import (
	"encoding/json"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
)

// house is an open data folder: the record's file and the desk over it.
type house struct {
	file   *store.File
	desk   *store.Desk
	tables traveler.Tables
	host   host
}

func openHouse(dir string, h host) (*house, error) {
	file, err := store.Open(dir, store.Options{Now: h.now, Rand: h.rand})
	if err != nil {
		return nil, err
	}
	desk, err := store.NewDesk(file, store.DeskOptions{Now: h.now, Rand: h.rand})
	if err != nil {
		_ = file.Close()
		return nil, err
	}
	return &house{file: file, desk: desk, tables: file.Tables(), host: h}, nil
}

func (hs *house) close() error {
	err := hs.desk.Close()
	if cerr := hs.file.Close(); err == nil {
		err = cerr
	}
	return err
}

// settings are what the shop fixed once.
type settings struct {
	PublicURL string `json:"public_url"`
	Given     bool   `json:"given"` // somebody chose PublicURL
	Zone      string `json:"zone"`
	Printed   bool   `json:"printed"` // a card was printed with the public URL
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
