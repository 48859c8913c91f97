// Package apidoc makes the description of the API (OpenAPI 3.0) of the tables of
// routes and the types that they name. It reads the project's own source for
// comments and constants, so it is for tests and go generate, not for the server.
//
// # Decisions, with their reasons
//
//   - The description of the API comes from the code (web/apidoc): paths from the rooms'
//     routes, schemas from the types that are answered, values from their constants,
//     texts from their comments, examples from the example shop. It is written to
//     web/openapi.json, so the program holds no generator; a test holds the file to the
//     code, and tests hold every request that was taken, and every answer, to the file.
//     openapi3gen of kin-openapi knows no comments, constants or what is missing rather
//     than null, so a reflecting generator of our own fills kin-openapi's types.
package apidoc

import (
	"cmp"
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"
	"regexp"

	"github.com/getkin/kin-openapi/openapi3"

	"tallywalk/web/ask"
)

// Document describes routes. root is the folder of the module; answers are those to
// the examples of the routes, by Key, and may be nil. It fails, and names the route,
// where a type cannot be described: a field without a name in JSON, two types of one
// name, a part of the path of which nothing is said; where an example is none; and
// where the source cannot be read.
func Document(
	info openapi3.Info, routes []ask.Route, root string, answers map[string]json.RawMessage,
) (*openapi3.T, error) {
	s := &schemas{
		src: sources{root: root, read: map[string]*source{}}, types: map[reflect.Type]string{},
		all: openapi3.Schemas{},
	}
	doc := &openapi3.T{
		OpenAPI: "3.0.3", Info: &info, Paths: openapi3.NewPaths(),
		Security: openapi3.SecurityRequirements{{"token": {}}, {"session": {}}},
		Components: &openapi3.Components{Schemas: s.all, SecuritySchemes: openapi3.SecuritySchemes{
			"token": {Value: openapi3.NewSecurityScheme().WithType("http").WithScheme("bearer")},
			"session": {
				Value: openapi3.NewSecurityScheme().WithType("apiKey").WithIn("cookie").WithName(
					"tw_session"),
			},
		}},
	}
	problem, err := s.of(reflect.TypeFor[ask.Problem](), "")
	if err != nil {
		return nil, err
	}
	for i := range routes {
		op, err := s.operation(&routes[i], problem)
		if err == nil {
			err = example(op, &routes[i], answers[Key(&routes[i])])
		}
		if err != nil {
			return nil, fmt.Errorf("%s %s: %w", routes[i].Method, routes[i].Path, err)
		}
		doc.AddOperation(braced(routes[i].Path), routes[i].Method, op)
	}
	return doc, nil
}

var colon = regexp.MustCompile(`:(\w+)`)

// braced is a path as the description writes it.
func braced(path string) string { return colon.ReplaceAllString(path, "{$1}") }

func (s *schemas) operation(r *ask.Route, problem *openapi3.SchemaRef) (*openapi3.Operation, error) {
	op := &openapi3.Operation{Summary: r.Does, Description: r.More}
	if r.Deed == "" {
		op.Security = openapi3.NewSecurityRequirements()
	}
	in := map[string]bool{}
	for _, m := range colon.FindAllStringSubmatch(r.Path, -1) {
		in[m[1]] = true
	}
	for _, p := range r.Params {
		op.Parameters = append(op.Parameters, &openapi3.ParameterRef{Value: parameter(&p, in[p.Name])})
		delete(in, p.Name)
	}
	for name := range in {
		return nil, fmt.Errorf("nothing is said of %s", name)
	}
	var err error
	if op.RequestBody, err = s.body(r); err != nil {
		return nil, err
	}
	answer, err := s.answer(r)
	if err != nil {
		return nil, err
	}
	status := cmp.Or(r.Status, http.StatusOK)
	op.Responses = openapi3.NewResponses(
		openapi3.WithStatus(status, &openapi3.ResponseRef{Value: answer}),
		openapi3.WithName(
			"default",
			openapi3.NewResponse().WithDescription("problem").WithContent(
				openapi3.Content{"application/problem+json": openapi3.NewMediaType().WithSchemaRef(problem)},
			),
		),
	)
	return op, nil
}

func parameter(p *ask.Param, path bool) *openapi3.Parameter {
	out := openapi3.NewQueryParameter(p.Name).WithRequired(p.Needed)
	out.AllowEmptyValue = !p.Needed // an empty one counts as left out
	if path {
		out = openapi3.NewPathParameter(p.Name)
	}
	x := openapi3.NewStringSchema()
	switch p.Kind {
	case "integer":
		x = openapi3.NewIntegerSchema()
	case "number":
		x = openapi3.NewFloat64Schema().WithFormat("")
	}
	for _, v := range p.Of {
		x.Enum = append(x.Enum, v)
	}
	return out.WithDescription(p.Says).WithSchema(x)
}

func (s *schemas) body(r *ask.Route) (*openapi3.RequestBodyRef, error) {
	if r.Takes != "" {
		b := openapi3.NewRequestBody().WithRequired(true).WithContent(openapi3.Content{r.Takes: file()})
		return &openapi3.RequestBodyRef{Value: b}, nil
	}
	if r.Body == nil {
		return nil, nil
	}
	x, err := s.of(reflect.TypeOf(r.Body), "")
	if err != nil {
		return nil, err
	}
	b := openapi3.NewRequestBody().WithRequired(true).WithJSONSchemaRef(x)
	return &openapi3.RequestBodyRef{Value: b}, nil
}

// file is a media type that is bytes.
func file() *openapi3.MediaType {
	return openapi3.NewMediaType().WithSchema(openapi3.NewStringSchema().WithFormat("binary"))
}

func (s *schemas) answer(r *ask.Route) (*openapi3.Response, error) {
	out := openapi3.NewResponse().WithDescription("done")
	if len(r.Gives) > 0 {
		out.Content = openapi3.Content{}
		for _, media := range r.Gives {
			out.Content[media] = file()
		}
		return out.WithDescription("the file"), nil
	}
	if r.Answer == nil {
		return out, nil
	}
	of, isOne := r.Answer.(ask.OneOf)
	if !isOne {
		x, err := s.of(reflect.TypeOf(r.Answer), "")
		if err != nil {
			return nil, err
		}
		return out.WithJSONSchemaRef(x), nil
	}
	x, err := s.oneOf(of)
	if err != nil {
		return nil, err
	}
	return out.WithJSONSchemaRef(x), nil
}

// Info is the head of the description.
func Info() openapi3.Info {
	return openapi3.Info{Title: "tallywalk", Version: "0.1.0", Description: about}
}

const about = "Scans, batches and boards of a shop. Times are RFC 3339 with offset; durations are seconds, " +
	"distances metres, planned times minutes. A body is plain JSON of at most 64 kB (scans, plans and " +
	"comparisons 1 MB; of those not signed in 16 kB), never compressed (415). Errors are RFC 9457 problem " +
	"documents. A program signs in with a bearer token (tallywalk token); pages use cookies. Sentences are in " +
	"the language that the address names (language=de), else that of Accept-Language or the one chosen by the " +
	"person or device (for what asks for JSON the header goes first), else the shop's: en, de, es, pl or tr."
