package door

import (
	"crypto/sha256"
	"encoding/hex"
	"time"

	"tallywalk/traveler"
)

// How someone can be known.
const (
	ByNobody  = ""
	byAccount = "account" // signed in with name and password
	byToken   = "token"   // bearer token of a program
	ByStation = "station" // an enrolled device; the badge says who
	ByScreen  = "screen"  // a wall screen's read-only link
	byOpen    = "open"    // the demo
)

// Principal is who asks.
type Principal struct {
	How  string
	Name string
	Role traveler.Role
	Key  string // row of the session, station, screen or token
	// Device is what a station's scans are kept with.
	Device traveler.DeviceID
	// Language is what the person chose, or what was chosen for the device; empty
	// where nobody did.
	Language string
}

// The tables of who may come in. Keys are SHA-256 sums of the secrets, so that
// a copy of the file opens no door.
const (
	tableAccounts = "accounts" // by name
	tableSessions = "sessions"
	tableTokens   = "tokens"
	tableStations = "stations"
	tableScreens  = "screens"
	tableOnce     = "once" // one-time codes: first account, enrolling
)

// pass is a row that lets someone in: a session, token, station or screen.
type pass struct {
	Name    string        `json:"name"`
	Role    traveler.Role `json:"role"`
	Machine string        `json:"machine,omitempty"`
	Made    time.Time     `json:"made"`
	By      string        `json:"by,omitempty"`
	Until   time.Time     `json:"until,omitzero"`
	Seen    time.Time     `json:"seen,omitzero"`
	Kind    string        `json:"kind,omitempty"` // of a one-time code
	Device  string        `json:"device,omitempty"`
	Wall    *wall         `json:"wall,omitempty"` // what a screen shows
	// Language is what was chosen at a station, or for it when it was enrolled.
	Language string `json:"language,omitempty"`
	// Account is the ID of the account that a session is of: one that is made
	// again under the same name is another.
	Account string `json:"account,omitempty"`
}

// over reports whether its time has come.
func (p *pass) over(now time.Time) bool { return !p.Until.IsZero() && !now.Before(p.Until) }

// passID is how much of a pass's key names it; the whole is the hash of a secret.
const passID = 16

// shortID is as much of an ID or a key as a log needs; names stay out of it.
func shortID(id string) string { return id[:min(len(id), passID)] }

func sumOf(secret string) string {
	h := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(h[:])
}
