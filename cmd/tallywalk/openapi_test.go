package main

import (
	"bytes"
	"cmp"
	"context"
	"net/http"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/gorillamux"
)

// contract is the OpenAPI description, against which every answer that a test
// gets is checked.
var contract = sync.OnceValue(func() routers.Router {
	raw, err := os.ReadFile("../../web/openapi.json")
	if err != nil {
		panic(err)
	}
	doc, err := openapi3.NewLoader().LoadFromData(raw)
	if err != nil {
		panic(err)
	}
	r, err := gorillamux.NewRouter(doc)
	if err != nil {
		panic(err)
	}
	return r
})

// checkContract holds an answer of the API against the description.
func (r *rig) checkContract(req *http.Request, resp *http.Response, body []byte) {
	r.t.Helper()
	if !strings.HasPrefix(req.URL.Path, "/api/") {
		return
	}
	route, params, err := contract().FindRoute(req)
	if err != nil {
		r.t.Errorf("%s %s is not described: %v", req.Method, req.URL.Path, err)
		return
	}
	in := &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{Request: req, PathParams: params, Route: route},
		Status:                 resp.StatusCode, Header: resp.Header,
		Options: &openapi3filter.Options{IncludeResponseStatus: true, MultiError: true},
	}
	in.SetBodyBytes(body)
	if err := openapi3filter.ValidateResponse(context.Background(), in); err != nil {
		r.t.Errorf("%s %s: the answer is not as described: %v", req.Method, req.URL.Path, err)
	}
}

// needed is what some addresses cannot be asked without, and what they answer in
// a shop where nothing has happened yet, if that is not 200.
var needed = map[string]struct {
	query  string
	status int
}{
	"/api/v1/station/{machine}/card": {query: "?ref=W-501"},
	"/api/v1/pace/operation":         {"?part=1001-04&route_rev=1&operation=10", 404},
	"/api/v1/ground/pictures/{ref}":  {status: 404},
	"/api/v1/ground/walk":            {query: "?from=T1&to=F1"},
	"/api/v1/changes":                {query: "?part=1001-04&before=1&after=2"},
	"/api/v1/compare":                {query: "?part=1001-04"},
}

// The description is a valid OpenAPI document, and says of each way into the
// API that it is there.
func TestOpenAPIIsServedAndWhole(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	resp, err := http.Get(r.base + "/api/v1/openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	var raw bytes.Buffer
	if _, err := raw.ReadFrom(resp.Body); err != nil {
		t.Fatal(err)
	}
	doc, err := openapi3.NewLoader().LoadFromData(raw.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.Validate(context.Background()); err != nil {
		t.Fatal(err)
	}
	served := strings.NewReplacer("{code}", r.card("W-501"), "{machine}", "T1", "{ref}", "11", "{kind}", "plates.pdf", "{what}", "visits")
	for path, item := range doc.Paths.Map() {
		if item.Get == nil || path == "/live" {
			continue
		}
		p, want := served.Replace(path), 200
		if q, ok := needed[path]; ok {
			p += q.query
			want = cmp.Or(q.status, want)
		}
		if status := r.do("GET", p, nil, nil); status != want {
			t.Errorf("GET %s: %d, want %d", p, status, want)
		}
	}
}

// Everything the server answers is described.
func TestOpenAPIKnowsEveryRoute(t *testing.T) {
	for _, x := range apiRoutes(t) {
		req, err := http.NewRequest(x[0], "http://x"+strings.ReplaceAll(x[1], ":", ""), nil)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := contract().FindRoute(req); err != nil {
			t.Errorf("%s %s is not described: %v", x[0], x[1], err)
		}
	}
}
