package main

import (
	"bytes"
	"encoding/csv"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"tallywalk/web/webtest"
)

func (r *rig) file(path string) (http.Header, []byte) {
	r.t.Helper()
	req, err := http.NewRequest("GET", r.base+path, nil)
	if err != nil {
		r.t.Fatal(err)
	}
	if r.token != "" {
		req.Header.Set("Authorization", "Bearer "+r.token)
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		r.t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	webtest.HoldToContract(r.t, req, nil, resp, raw)
	return resp.Header, raw
}

// The lists are the same from the API and from the command line, in each
// format, whole or of a selection.
func TestExportFromTheAPI(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	r.cli("import", "scans", "../../testdata/example/oldlog.csv", "--mapping",
		"../../testdata/example/oldlog.map")
	for _, what := range []string{"batches", "visits", "scans"} {
		for _, f := range []string{"csv", "jsonl"} {
			head, raw := r.file(
				"/api/v1/export/" + what + "?format=" + f + "&from=2025-09-01&to=2025-09-30&part=5001")
			if want := r.cli("export", what, "--format", f, "--from", "2025-09-01", "--to", "2025-09-30",
				"--part", "5001"); string(raw) != want {
				t.Errorf("%s as %s:\n%s\nwant\n%s", what, f, raw, want)
			}
			if got := head.Get("Content-Disposition"); got != `attachment; filename="`+what+
				` 2025-09-01 to 2025-09-30.`+f+`"` {
				t.Error(got)
			}
		}
		_, raw := r.file("/api/v1/export/" + what + "?format=xlsx&from=2025-09-01&to=2025-09-30&part=5001")
		_, text := r.file("/api/v1/export/" + what + "?from=2025-09-01&to=2025-09-30&part=5001")
		book, err := excelize.OpenReader(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := book.GetRows(what)
		if err != nil {
			t.Fatal(err)
		}
		lines, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if len(rows) != len(lines) || len(rows) < 2 {
			t.Errorf("%s: %d rows in the workbook, %d lines", what, len(rows), len(lines))
		}
	}
	for path, want := range map[string]int{
		"/api/v1/export/colours":                 404,
		"/api/v1/export/batches?format=pdf":      400,
		"/api/v1/export/batches?from=2026-02-30": 400,
	} {
		if status := r.do("GET", path, nil, nil); status != want {
			t.Errorf("%s: %d, want %d", path, status, want)
		}
	}
	if _, raw := r.file("/api/v1/export/batches?customer=North+works"); strings.Count(string(raw),
		"\n") != 3 {
		t.Errorf("of one customer: %s", raw)
	}
}
