package apidoc

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"

	"tallywalk/web/ask"
)

// Key names a route.
func Key(r *ask.Route) string { return r.Method + " " + r.Path }

// example adds the example of a route: its parameters, its body and its answer.
func example(op *openapi3.Operation, r *ask.Route, answer json.RawMessage) error {
	if r.Example.At == "" {
		return nil
	}
	at, err := url.Parse(r.Example.At)
	if err != nil {
		return err
	}
	given, err := pathValues(r.Path, at.Path)
	if err != nil {
		return err
	}
	for name, list := range at.Query() {
		given[name] = list[0]
	}
	for _, p := range op.Parameters {
		if v, ok := given[p.Value.Name]; ok {
			p.Value.Example = v
			if !p.Value.Schema.Value.Type.Is("string") {
				if err := json.Unmarshal([]byte(v), &p.Value.Example); err != nil {
					return err
				}
			}
			delete(given, p.Value.Name)
		}
	}
	for name := range given {
		return fmt.Errorf("the example has a parameter %s, and the route none", name)
	}
	if r.Example.Body != "" {
		m := op.RequestBody.Value.Content[ask.MediaJSON]
		if err := json.Unmarshal([]byte(r.Example.Body), &m.Example); err != nil {
			return err
		}
	}
	if answer != nil {
		for _, resp := range op.Responses.Map() {
			if m := resp.Value.Content[ask.MediaJSON]; m != nil {
				if err := json.Unmarshal(answer, &m.Example); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// pathValues are the parts of an address that stand for the names in a route's
// path.
func pathValues(path, at string) (map[string]string, error) {
	names, values := strings.Split(path, "/"), strings.Split(at, "/")
	if len(names) != len(values) {
		return nil, fmt.Errorf("%s is no address of %s", at, path)
	}
	out := map[string]string{}
	for i, n := range names {
		switch name, isParam := strings.CutPrefix(n, ":"); {
		case isParam:
			out[name] = values[i]
		case n != values[i]:
			return nil, fmt.Errorf("%s is no address of %s", at, path)
		}
	}
	return out, nil
}
