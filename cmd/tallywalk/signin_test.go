package main

import (
	"net/http"
	"net/http/cookiejar"
)

// visitor is a browser without its screen: it keeps cookies.
func (r *rig) visitor() *rig {
	jar, err := cookiejar.New(nil)
	if err != nil {
		r.t.Fatal(err)
	}
	n := *r
	n.client = &http.Client{Jar: jar,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	return &n
}
