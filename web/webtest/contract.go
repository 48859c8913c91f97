package webtest

import (
	"bytes"
	"context"
	"net/http"
	"strings"
	"sync"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/gorillamux"

	"tallywalk/web"
)

// contract is the description of the API, against which every request that a test
// sends and every answer that it gets is held.
var contract = sync.OnceValues(func() (routers.Router, error) {
	doc, err := openapi3.NewLoader().LoadFromData(web.OpenAPI())
	if err != nil {
		return nil, err
	}
	return gorillamux.NewRouter(doc)
})

// HoldToContract reports what of a request and its answer is not as described: a
// request that was taken, sent with the body sent, and any answer of the API.
func HoldToContract(t testing.TB, req *http.Request, sent []byte, resp *http.Response, got []byte) {
	t.Helper()
	if !strings.HasPrefix(req.URL.Path, "/api/") {
		return
	}
	router, err := contract()
	if err != nil {
		t.Fatal(err)
	}
	route, params, err := router.FindRoute(req)
	if err != nil {
		t.Errorf("%s %s is not described: %v", req.Method, req.URL.Path, err)
		return
	}
	asked := req.Clone(context.Background())
	asked.Body = http.NoBody
	if sent != nil {
		asked.Body = body{bytes.NewReader(sent)}
	}
	options := &openapi3filter.Options{
		IncludeResponseStatus: true, MultiError: true,
		AuthenticationFunc: openapi3filter.NoopAuthenticationFunc,
	}
	in := &openapi3filter.RequestValidationInput{
		Request: asked, PathParams: params, Route: route, Options: options,
	}
	// Of a body that is no JSON the server does not believe the header, but looks.
	options.ExcludeRequestBody = route.Operation.RequestBody != nil &&
		route.Operation.RequestBody.Value.Content.Get("application/json") == nil
	if resp.StatusCode < http.StatusMultipleChoices {
		if err := openapi3filter.ValidateRequest(context.Background(), in); err != nil {
			t.Errorf("%s %s was taken (%d), and is not as described: %v", req.Method, req.URL,
				resp.StatusCode, err)
		}
	}
	out := &openapi3filter.ResponseValidationInput{
		RequestValidationInput: in, Status: resp.StatusCode, Header: resp.Header, Options: options,
	}
	out.SetBodyBytes(got)
	if err := openapi3filter.ValidateResponse(context.Background(), out); err != nil {
		t.Errorf("%s %s: the answer is not as described: %v", req.Method, req.URL, err)
	}
}

type body struct{ *bytes.Reader }

// Close does nothing.
func (body) Close() error { return nil }
