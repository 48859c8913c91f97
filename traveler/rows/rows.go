// Package rows reads and writes the rows of story.Tables as JSON.
package rows

import (
	"encoding/json"
	"maps"
	"slices"

	"tallywalk/traveler/story"
)

// Read reads one row into v; there is false when there is none. It fails as the
// tables do, and with what json.Unmarshal says of a row that is no such v.
func Read(t story.Tables, table, key string, v any) (there bool, err error) {
	b, err := t.Get(table, key)
	if err != nil || b == nil {
		return false, err
	}
	return true, json.Unmarshal(b, v)
}

// Write writes one row. It fails as the tables do.
func Write(t story.Tables, table, key string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return t.Put(table, key, b)
}

// List reads a whole table as a list of what of makes of each row, sorted by compare and,
// where that makes no difference, by key. It is never nil, and fails as All does.
func List[T, V any](
	t story.Tables, table string, of func(key string, row *T) V, compare func(a, b V) int,
) ([]V, error) {
	all, err := All[T](t, table)
	if err != nil {
		return nil, err
	}
	out := make([]V, 0, len(all))
	for _, key := range slices.Sorted(maps.Keys(all)) {
		row := all[key]
		out = append(out, of(key, &row))
	}
	slices.SortStableFunc(out, compare)
	return out, nil
}

// Row is for a List of the rows as they are kept.
func Row[T any](_ string, row *T) T { return *row }

// All reads a whole table, by key. It fails as the tables do, and with what
// json.Unmarshal says of the first row that is no T.
func All[T any](t story.Tables, table string) (map[string]T, error) {
	out := map[string]T{}
	var bad error
	err := t.Each(table, func(key string, value []byte) bool {
		var v T
		if bad = json.Unmarshal(value, &v); bad != nil {
			return false
		}
		out[key] = v
		return true
	})
	if err == nil {
		err = bad
	}
	return out, err
}
