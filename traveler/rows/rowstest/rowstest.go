// Package rowstest keeps tables in memory, for tests.
package rowstest

import "sync"

// Tables are story.Tables in memory. They never fail and are safe for
// concurrent use; the zero value is empty.
type Tables struct {
	mu   sync.Mutex
	rows map[string]map[string][]byte
}

// Put writes a row. It never fails.
func (m *Tables) Put(table, key string, value []byte) error {
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

// Get reads a row; nil when there is none. It never fails.
func (m *Tables) Get(table, key string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.rows[table][key], nil
}

// Delete removes a row. It never fails.
func (m *Tables) Delete(table, key string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.rows[table], key)
	return nil
}

// Each calls yield for every row of a table, in no order. It never fails.
func (m *Tables) Each(table string, yield func(key string, value []byte) bool) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for k, v := range m.rows[table] {
		if !yield(k, v) {
			break
		}
	}
	return nil
}
