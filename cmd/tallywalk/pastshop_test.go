package main

import (
	"context"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
)

// past is a shop whose record was made by an earlier version, which kept the
// codes of badges with the scans.
type past struct {
	*rig
	codes   map[string]string // badge by number, as they were then
	secrets map[string]string // what must be in no answer, and what it is
	scans   []traveler.Scan   // as they were kept
}

// pastShop makes such a shop and serves it; the badge of 12 is replaced before.
func pastShop(t *testing.T) *past {
	t.Helper()
	r := newRig(t, rigOptions{})
	r.as(traveler.RoleAdministrator).do("POST", "/api/v1/accounts",
		map[string]any{"name": "Ada", "password": "long enough for this", "role": "administrator"}, nil)
	r.stop()
	p := &past{codes: map[string]string{}, secrets: map[string]string{}}
	hs, err := openHouse(r.dir, r.host)
	if err != nil {
		t.Fatal(err)
	}
	p.seed(t, hs)
	p.look(t, hs)
	if err := hs.close(); err != nil {
		t.Fatal(err)
	}
	p.rig = newRig(t, rigOptions{dir: r.dir})
	return p
}

// seed keeps scans as they were kept before: each with the code of a badge.
func (p *past) seed(t *testing.T, hs *house) {
	t.Helper()
	known := map[string]people.Person{}
	if err := hs.tables.Each("people", func(code string, v []byte) bool {
		var x people.Person
		if err := json.Unmarshal(v, &x); err != nil {
			t.Fatal(err)
		}
		p.codes[string(x.ID)], known[string(x.ID)] = code, x
		return true
	}); err != nil {
		t.Fatal(err)
	}
	now, late, one, far := time.Now().UTC(), false, 1, 400
	scan := func(card, station string, action traveler.Action, who, note string) traveler.Scan {
		return traveler.Scan{ID: traveler.ScanID(newID()), At: now, Station: station, Card: card,
			Action: action, Operator: traveler.PersonID(who), Note: note}
	}
	setup, run, count := scan("W-501", "T1", traveler.ActSetup, p.codes["31"], ""),
		scan("W-501", "T1", traveler.ActRun, p.codes["11"], ""),
		scan("W-501", "T1", traveler.ActCount,
			strings.ToLower(p.codes["12"]), "by "+p.codes["51"]+", he says")
	run.Anyway, count.Good = true, &one
	beyond := scan("W-503", "T1", traveler.ActFinish, p.codes["11"], "")
	beyond.Good, beyond.Present = &far, &late // a question
	loose := scan("W-999", "T1", traveler.ActRun, p.codes["11"], "")
	loose.Present = &late
	stranger := scan("W-501", "T1", traveler.ActStop, p.codes["11"], "")
	done := scan("W-502", "T1", traveler.ActFinish, p.codes["11"], "")
	all := 120
	done.Good = &all
	gone := scan("W-502", "Q1", traveler.ActDeliver, p.codes["11"], "taken by "+p.codes["51"]+", he says")
	gone.Pieces, gone.Anyway = all, true
	halt := scan("W-501", "T1", traveler.ActStop, p.codes["11"], "")
	halt.Reason = "asked " + p.codes["31"]
	lost := scan("W-501", "T1", traveler.ActCount, p.codes["11"], "")
	lost.Scrap = []traveler.Loss{{Reason: "by " + p.codes["12"], N: 1}}
	hold := scan("W-501", "Q1", traveler.ActHold, p.codes["51"], "")
	hold.Reason = "ask" + p.codes["51"]
	p.scans = []traveler.Scan{setup, run, count, beyond, loose, stranger, done, gone, halt, lost, hold}
	said := make([]story.Said, len(p.scans))
	for i, s := range p.scans {
		said[i] = story.Said{By: traveler.Actor{Name: "Tablet", Role: traveler.RoleSupervisor}, Scan: s}
	}
	said[5].By.Role = "" // a badge that was not known then: the refusal names its code
	answers, err := hs.desk.Scans(context.Background(), said)
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range answers {
		if want := []traveler.Outcome{"kept", "kept", "kept", "question", "question", "refused", "kept",
			"kept", "kept", "kept", "kept"}[i]; a.Err != nil || a.Outcome != want {
			t.Fatalf("scan %d: %+v, want %s", i, a, want)
		}
	}
	next := known["12"]
	next.Code = "P0000000"
	if c, ok := traveler.NewCode(traveler.KindPerson, 7_000_000_007); ok {
		next.Code = c
	}
	if err := people.Put(hs.tables, next, known["12"].Code, now); err != nil {
		t.Fatal(err)
	}
	p.secrets[string(next.Code)] = "the new badge of 12"
	for number, code := range p.codes {
		p.secrets[code] = "the badge of " + number
	}
}

// look collects the hashes of passwords and of secrets.
func (p *past) look(t *testing.T, hs *house) {
	t.Helper()
	for _, table := range []string{"accounts", "tokens", "sessions"} {
		if err := hs.tables.Each(table, func(key string, v []byte) bool {
			var a struct{ Hash, Salt string }
			if err := json.Unmarshal(v, &a); err != nil {
				t.Fatal(err)
			}
			if table == "accounts" {
				p.secrets[a.Hash], p.secrets[a.Salt] = "the hash of a password", "the salt of a password"
			} else {
				p.secrets[key] = "the hash of a secret"
			}
			return true
		}); err != nil {
			t.Fatal(err)
		}
	}
	if len(p.secrets) < 8 {
		t.Fatalf("too few secrets to look for: %v", p.secrets)
	}
}
