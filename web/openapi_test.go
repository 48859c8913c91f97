package web_test

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"flag"
	"net/http"
	"os"
	"testing"

	"tallywalk/web"
	"tallywalk/web/apidoc"
	"tallywalk/web/webtest"
)

var update = flag.Bool("update", false, "write openapi.json as the routes are")

// The description that is served is the one that the routes and their types come
// to, and a valid OpenAPI document.
func TestDescriptionIsOfTheRoutes(t *testing.T) {
	r := webtest.ForExamples(t)
	doc, err := apidoc.Document(apidoc.Info(), r.Server.Routes(), webtest.Root(t), r.Answers())
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.Validate(context.Background()); err != nil {
		t.Fatal(err)
	}
	raw, err := doc.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	if err := json.Indent(&want, raw, "", " "); err != nil {
		t.Fatal(err)
	}
	want.WriteByte('\n')
	if *update {
		if err := os.WriteFile("openapi.json", want.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if !bytes.Equal(web.OpenAPI(), want.Bytes()) {
		t.Error("openapi.json is not what the routes come to: go generate ./web, and read the difference")
	}
	status, got := r.Send(request(t, "GET", r.Base+"/api/v1/openapi.json"), nil)
	if status != http.StatusOK || !bytes.Equal(got, web.OpenAPI()) {
		t.Errorf("%d, %d bytes", status, len(got))
	}
}

func request(t *testing.T, method, url string) *http.Request {
	t.Helper()
	req, err := http.NewRequest(method, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	return req
}

// needed is what some addresses cannot be asked without, and what they answer in
// a shop where nothing has happened yet, if that is not 200.
var needed = map[string]struct {
	query  string
	status int
}{
	"/api/v1/station/:machine/card": {query: "?ref=W-501"},
	"/api/v1/pace/operation":        {"?part=1001-04&route_rev=1&operation=10", 404},
	"/api/v1/ground/pictures/:ref":  {status: 404},
	"/api/v1/printers/:id":          {status: 404},
	"/api/v1/ground/walk":           {query: "?from=T1&to=F1"},
	"/api/v1/changes":               {query: "?part=1001-04&before=1&after=2"},
	"/api/v1/compare":               {query: "?part=1001-04"},
	"/api/v1/next":                  {query: "?machine=T1"},
	"/api/v1/sites":                 {status: 404},
	"/api/v1/sites/waits":           {status: 404},
	"/api/v1/sites/history":         {status: 404},
	"/api/v1/sites/parts":           {status: 404},
	"/api/v1/sites/compare":         {status: 404},
	"/live":                         {status: 426},
}

// Whatever can be asked for without a body is answered as described.
func TestEveryAddressAnswersAsDescribed(t *testing.T) {
	r := webtest.New(t, webtest.Options{Open: true})
	for _, x := range r.Server.Routes() {
		if x.Method != http.MethodGet {
			continue
		}
		want := cmp.Or(needed[x.Path].status, http.StatusOK)
		if got := r.Do("GET", webtest.Fill(x.Path)+needed[x.Path].query, nil, nil); got != want {
			t.Errorf("GET %s: %d, want %d", x.Path, got, want)
		}
	}
}
