package page

import (
	"fmt"
	"net/http"
	"path"
	"slices"
	"strings"
	"sync"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
)

// Site serves the pages of one set of files.
type Site struct {
	sources func() Sources
	changes bool // the files may change at any time
	pick    func(c *fiber.Ctx, of []string) string

	mu    sync.Mutex
	files *Files
	err   error
	pages map[string]rendered // by title, module and language, of the files
}

// NewSite makes a site. With changes, files are read again each time a page is
// asked for: to edit and reload.
//
// pick chooses, for the one who asks, of the languages that a page has.
func NewSite(sources func() Sources, changes bool, pick func(c *fiber.Ctx, of []string) string) *Site {
	s := &Site{sources: sources, changes: changes, pick: pick}
	s.load()
	return s
}

// load reads all files. A page that was made stands while its version does.
func (s *Site) load() {
	was := s.files
	s.files, s.err = Load(s.sources())
	if was == nil || s.err != nil || s.files.Version != was.Version {
		s.pages = map[string]rendered{}
		return
	}
	s.files = was
}

// Files are the files as they were last read.
//
// It fails where they could not be.
func (s *Site) Files() (*Files, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.files, s.err
}

// Page answers a page, whole or, where the browser has it, with 304 (RFC 9110,
// 15.4.5). A page names files by their version, so it is asked for each time:
// after an update the next look shows the new one. It comes in the language that the
// one who asks likes best of those that have all of the page's groups of words.
func (s *Site) Page(p Page) fiber.Handler {
	return func(c *fiber.Ctx) error {
		r, err := s.page(p, func(of []string) string { return s.pick(c, of) })
		if err != nil {
			return fmt.Errorf("a page of the program: %w", err)
		}
		c.Vary(fiber.HeaderAcceptLanguage, fiber.HeaderCookie)
		c.Set(fiber.HeaderContentLanguage, r.language)
		c.Set(fiber.HeaderCacheControl, "no-cache")
		c.Set(fiber.HeaderETag, r.tag)
		if c.Fresh() {
			c.Status(fiber.StatusNotModified)
			return nil
		}
		c.Set(fiber.HeaderContentType, fiber.MIMETextHTMLCharsetUTF8)
		return c.Send(r.body)
	}
}

func (s *Site) page(p Page, pick func(of []string) string) (rendered, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.changes {
		s.load()
	}
	if s.err != nil {
		return rendered{}, s.err
	}
	language := pick(s.files.Languages(p.Words))
	key := p.Title + " " + p.Main + " " + language
	if r, ok := s.pages[key]; ok {
		return r, nil
	}
	r, err := s.files.render(p, language)
	if err == nil {
		s.pages[key] = r
	}
	return r, err
}

// forever is how long a browser keeps a file: its address changes with it.
const forever = "public, max-age=31536000, immutable"

// File answers a file of the version that its address names. Another version's address
// leads to the file as it is now, so that a page that is open while the program is
// replaced finds what it still asks for; a file that is no more is not found. It fails
// with KindNotFound for what is no file that a browser loads.
func (s *Site) File(c *fiber.Ctx) error {
	version, name, _ := strings.Cut(c.Params("*"), "/")
	files, err := s.Files()
	if err != nil {
		return fmt.Errorf("the files of the pages: %w", err)
	}
	f, ok := files.files[name]
	if !ok || !isServed(name) {
		return traveler.Fail(traveler.KindNotFound, "web.nothing", c.Path())
	}
	if version != files.Version {
		c.Set(fiber.HeaderCacheControl, "no-store")
		return c.Redirect(files.Address(name), http.StatusTemporaryRedirect)
	}
	c.Set(fiber.HeaderCacheControl, forever)
	c.Set(fiber.HeaderContentType, f.kind)
	c.Set(fiber.HeaderVary, fiber.HeaderAcceptEncoding)
	if packed := f.packed(); packed != nil && strings.Contains(c.Get(fiber.HeaderAcceptEncoding), "gzip") {
		c.Set(fiber.HeaderContentEncoding, "gzip")
		return c.Send(packed)
	}
	return c.Send(f.data)
}

// isServed reports what a browser loads from what pages are made of.
func isServed(name string) bool {
	return slices.Contains([]string{".js", ".css", ".svg", ".png", ".woff2", ".wasm", ".txt"}, path.Ext(name))
}
