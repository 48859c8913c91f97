package web_test

import (
	"io"
	"net/http"
	"strings"
	"testing"

	"tallywalk/traveler"
	"tallywalk/web/webtest"
)

// Someone whom a link leads to a page that is not for them reads a page, with a
// way back, not a problem document; what asks for JSON gets that.
func TestPageNotForYou(t *testing.T) {
	t.Parallel()
	r := webtest.New(t, webtest.Options{}).As(traveler.RoleOperator)
	for accept, want := range map[string]string{
		"text/html,application/xhtml+xml,*/*;q=0.8": "text/html",
		"application/json":                          "application/problem+json",
	} {
		for _, path := range []string{"/stations", "/accounts"} {
			req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, r.Base+path, nil)
			if err != nil {
				t.Fatal(err)
			}
			req.Header.Set("Accept", accept)
			req.Header.Set("Authorization", "Bearer "+r.Token)
			resp, err := http.DefaultClient.Do(req)
			if err != nil {
				t.Fatal(err)
			}
			body, err := io.ReadAll(resp.Body)
			_ = resp.Body.Close()
			kind := resp.Header.Get("Content-Type")
			if err != nil || resp.StatusCode != http.StatusForbidden || !strings.HasPrefix(kind, want) {
				t.Errorf("%s as %s: %d, %s, %v", path, accept, resp.StatusCode, kind, err)
			}
			if page := strings.Contains(string(body), `<a href="/">`); page != (want == "text/html") {
				t.Errorf("%s as %s: %.300s", path, accept, body)
			}
		}
	}
}
