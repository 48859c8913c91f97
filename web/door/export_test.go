package door

// Crossings are the ways in that are open to pages of other servers, by method and path.
func Crossings() (out []string) {
	for _, w := range crossings {
		out = append(out, w.method+" "+w.path)
	}
	return out
}
