package page

import (
	"encoding/json"
	"fmt"
	"slices"

	"github.com/gofiber/fiber/v2"
)

// Icons are the program's mark for devices that install a page: names of files, by
// the pixels of a side.
var Icons = map[int]string{192: "web/lib/icon-192.png", 512: "web/lib/icon-512.png"}

// icon of what is installed, as the manifest has it (W3C Web Application Manifest).
type icon struct {
	Src     string `json:"src"`
	Sizes   string `json:"sizes"`
	Type    string `json:"type"`
	Purpose string `json:"purpose"`
}

// manifest is what a browser needs to know to install a page.
type manifest struct {
	Name       string `json:"name"`
	ShortName  string `json:"short_name"`
	Start      string `json:"start_url"`
	Scope      string `json:"scope"`
	Display    string `json:"display"`
	Background string `json:"background_color"`
	Theme      string `json:"theme_color"`
	Icons      []icon `json:"icons"`
}

// Manifest answers what a browser needs to install a page that lies at a path.
func (s *Site) Manifest(p Page, at string) fiber.Handler {
	return func(c *fiber.Ctx) error {
		files, err := s.Files()
		if err != nil {
			return fmt.Errorf("the files of the pages: %w", err)
		}
		words, err := files.words(s.pick(c, files.Languages(p.Words)), p.Words)
		if err != nil {
			return fmt.Errorf("the words of a page: %w", err)
		}
		m := manifest{
			Name: "tallywalk " + words[p.Title], ShortName: words[p.Title], Start: at, Scope: at,
			Display:    "standalone",
			Background: "#16181a", Theme: "#16181a",
			Icons: []icon{{files.Address("web/lib/mark.svg"), "any", "image/svg+xml", "any"}},
		}
		for size, name := range Icons {
			m.Icons = append(m.Icons,
				icon{files.Address(name), fmt.Sprintf("%dx%d", size, size), "image/png", "any"})
		}
		slices.SortFunc(m.Icons, func(a, b icon) int { return len(a.Sizes) - len(b.Sizes) })
		c.Vary(fiber.HeaderAcceptLanguage, fiber.HeaderCookie)
		c.Set(fiber.HeaderCacheControl, "no-cache")
		if err := c.JSON(m); err != nil {
			return err
		}
		c.Set(fiber.HeaderContentType, "application/manifest+json")
		return nil
	}
}

// graph is all that a page loads, for the worker that keeps it in a device.
type graph struct {
	Tag     string   `json:"tag"` // of the page, as its answer has it
	Version string   `json:"version"`
	Page    string   `json:"page"`
	Files   []string `json:"files"`
	Live    bool     `json:"live"` // the files may change at any time: nothing is kept
	// Reach are sources that the page may ask beside its server: where others are, the page
	// is kept again, for it is kept with its policy.
	Reach []string `json:"reach,omitempty"`
}

// Worker answers the service worker that keeps a page at a path in a device: the
// script of that name, after the graph of what the page loads in the language of the one
// who asks. reach gives what the page may ask beside its server. Browsers compare it each
// time, so it is never cached.
func (s *Site) Worker(p Page, at, script string, reach func(*fiber.Ctx) []string) fiber.Handler {
	return func(c *fiber.Ctx) error {
		r, err := s.page(p, func(of []string) string { return s.pick(c, of) })
		if err != nil {
			return fmt.Errorf("a page of the program: %w", err)
		}
		files, err := s.Files()
		if err != nil {
			return fmt.Errorf("the files of the pages: %w", err)
		}
		names := slices.Concat(files.Modules(p.Main), p.Styles, fontsOf(r.language),
			[]string{"web/lib/mark.svg"})
		text, err := json.Marshal(
			graph{r.tag, files.Version, at, files.addresses(names), s.changes, reach(c)})
		if err != nil {
			return err
		}
		c.Set(fiber.HeaderCacheControl, "no-store")
		c.Set(fiber.HeaderContentType, kindOf(".js"))
		return c.SendString("globalThis.GRAPH = " + string(text) + ";\n" + string(files.files[script].data))
	}
}
