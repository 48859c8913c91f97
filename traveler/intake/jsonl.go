package intake

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
)

// loadJSON reads JSON Lines: an object a line, its keys the columns.
func (t *table) loadJSON(raw []byte) []row {
	at := map[string]int{}
	rows := []row{{line: 1}}
	for n, text := range bytes.Split(raw, []byte("\n")) {
		if len(bytes.TrimSpace(text)) == 0 {
			continue
		}
		keys, values, err := object(text)
		if err != nil {
			t.problem(n+1, "", "", "is no JSON object of texts and numbers: "+err.Error())
			return nil
		}
		r := row{line: n + 1, cells: make([]string, len(rows[0].cells))}
		for i, k := range keys {
			if _, ok := at[k]; !ok {
				at[k] = len(rows[0].cells)
				rows[0].cells = append(rows[0].cells, k)
				r.cells = append(r.cells, "")
			}
			r.cells[at[k]] = strings.TrimSpace(values[i])
		}
		rows = append(rows, r)
	}
	for i := range rows {
		rows[i].cells = append(rows[i].cells, make([]string, len(rows[0].cells)-len(rows[i].cells))...)
	}
	return rows
}

// object reads a flat JSON object, its keys in order.
func object(text []byte) (keys, values []string, err error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	if _, err := d.Token(); err != nil {
		return nil, nil, err
	}
	for d.More() {
		k, err := d.Token()
		if err != nil {
			return nil, nil, err
		}
		v, err := d.Token()
		if err != nil {
			return nil, nil, err
		}
		var value string
		switch v := v.(type) {
		case nil:
		case string:
			value = v
		case json.Number, bool:
			value = fmt.Sprint(v)
		default:
			return nil, nil, errors.New("a list or an object within it")
		}
		keys, values = append(keys, fmt.Sprint(k)), append(values, value)
	}
	if _, err := d.Token(); err != nil {
		return nil, nil, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, nil, errors.New("something after it")
	}
	return keys, values, nil
}
