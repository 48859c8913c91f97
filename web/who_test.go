package web

import (
	"crypto/rand"
	"encoding/json"
	"log/slog"
	"sync"
	"testing"
	"time"

	"tallywalk/traveler"
)

// memTables keeps tables in memory.
type memTables struct {
	mu   sync.Mutex
	rows map[string]map[string][]byte
}

func (m *memTables) Put(table, key string, value []byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.rows == nil {
		m.rows = map[string]map[string][]byte{}
	}
	if m.rows[table] == nil {
		m.rows[table] = map[string][]byte{}
	}
	m.rows[table][key] = value
	return nil
}

func (m *memTables) Get(table, key string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.rows[table][key], nil
}

func (m *memTables) Delete(table, key string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.rows[table], key)
	return nil
}

func (m *memTables) Each(table string, yield func(key string, value []byte) bool) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for k, v := range m.rows[table] {
		if !yield(k, v) {
			break
		}
	}
	return nil
}

func (m *memTables) put(t *testing.T, table, key string, v any) {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Put(table, key, b); err != nil {
		t.Fatal(err)
	}
}

// A session is of one account: that of another of the same name, which was made
// while someone signed in, or that came back with a copy, opens nothing. Those
// from before accounts had IDs go on, until the account gets one.
func TestSessionsAreOfOneAccount(t *testing.T) {
	m, at := &memTables{}, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	real := at
	later := func() time.Time { real = real.Add(time.Second); return real } // each look is a second after the last one
	s := &Server{cfg: Config{Tables: m, Now: func() time.Time { return at }, Real: later}}
	for _, c := range []struct {
		session, account string
		in               bool
	}{{"", "", true}, {"1", "1", true}, {"1", "2", false}, {"", "2", false}, {"1", "", false}} {
		m.put(t, tableAccounts, "Bob", account{ID: c.account, Name: "Bob", Role: traveler.RolePlanner})
		m.put(t, tableSessions, sumOf("secret"), pass{Name: "Bob", Role: traveler.RoleAdministrator, Until: at.Add(time.Hour), Account: c.session})
		p := s.byPass(tableSessions, byAccount, "secret")
		if (p.How == byAccount) != c.in || c.in && p.Role != traveler.RolePlanner {
			t.Errorf("a session of account %q, where there is %q: %+v", c.session, c.account, p)
		}
		if c.in && !s.still(p) {
			t.Error("let in, and not still")
		}
		p.Role = traveler.RoleAdministrator
		if s.still(p) {
			t.Error("a socket goes on in a role that the account has not")
		}
	}
}

// A sign-in from an address that has not guessed does not wait while those who
// guess have the turn.
func TestHonestSignInHasItsOwnTurn(t *testing.T) {
	m := &memTables{}
	s := New(Config{Desk: &fullDesk{floor: largeFloor(largeBatches)}, Tables: m, Now: time.Now, Real: time.Now, Rand: rand.Reader, Log: slog.New(slog.DiscardHandler), Zone: time.UTC, Kiosk: files})
	a, err := s.newAccount("Ada", "long enough for this", traveler.RolePlanner, "a test")
	if err != nil {
		t.Fatal(err)
	}
	m.put(t, tableAccounts, "Ada", a)
	defer s.hashing.take(guessing)()
	for _, others := range []rank{guessing, fresh} { // the second time the address is known, and newcomers have the turn
		if others == fresh {
			defer s.hashing.take(fresh)()
		}
		if got, body := s.ask(t, "POST", "/api/v1/sign-in", `{"name":"Ada","password":"long enough for this"}`); got != 200 { // returns, or this test never ends
			t.Errorf("%d %s", got, body)
		}
	}
}
