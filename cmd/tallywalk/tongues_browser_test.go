package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	cldr "golang.org/x/text/number"

	"tallywalk/traveler"
)

// smallest are the smallest tablet and phone that a station is for, in CSS pixels.
var smallest = [][2]int64{{962, 601}, {360, 740}}

// notFitting names the buttons whose words are larger than they are, those that lie
// over another, and a page that is wider than its screen. Text that is cut off or
// scrolls shows as a scroll size beyond the client's; words are not broken meanwhile.
const notFitting = `(() => {
  const out = [], whole = new CSSStyleSheet();
  whole.replaceSync("button, button *, a.key { overflow-wrap: normal !important; hyphens: none !important; }");
  document.adoptedStyleSheets.push(whole);
  const rect = (e) => e.getBoundingClientRect();
  const seen = [...document.querySelectorAll("button, a.key, .link, .who")].filter((e) => e.checkVisibility() && rect(e).width > 0);
  const name = (e) => (e.dataset.test || e.className) + " “" + e.innerText.trim().replace(/\s+/g, " ") + "”";
  for (const e of seen) {
    if (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1) out.push(name(e) + " is larger than its button");
    const r = rect(e);
    if (r.left < -1 || r.right > innerWidth + 1) out.push(name(e) + " leaves the screen");
  }
  const fixed = (e) => e.closest(".undo, .done, .stick, .told");
  for (let i = 0; i < seen.length; i++)
    for (let j = i + 1; j < seen.length; j++) {
      const [a, b] = [seen[i], seen[j]];
      if (a.contains(b) || b.contains(a) || fixed(a) !== fixed(b)) continue;
      const [p, q] = [rect(a), rect(b)];
      if (Math.min(p.right, q.right) - Math.max(p.left, q.left) > 1 && Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 1)
        out.push(name(a) + " lies over " + name(b));
    }
  document.adoptedStyleSheets.pop();
  const page = document.documentElement;
  if (page.scrollWidth > innerWidth) out.push("the page is " + page.scrollWidth + " wide");
  return out;
})()`

// fitting holds what is on the screen to its buttons, in both small sizes.
func (b *tab) fitting(what string) *tab {
	b.t.Helper()
	for _, s := range smallest {
		b.sized(s[0], s[1])
		found, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](notFitting))
		if err != nil {
			b.t.Fatal(err)
		}
		for _, f := range found {
			b.t.Errorf("%s, %dx%d: %s", what, s[0], s[1], f)
		}
	}
	return b.sized(1280, 800)
}

// sized gives the page another size, and waits until it is drawn in it.
func (b *tab) sized(w, h int64) *tab {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(w, h))
	return b.until(fmt.Sprintf("innerWidth === %d", w)).drawn()
}

func (b *tab) drawn() *tab {
	b.t.Helper()
	b.do(chromedp.Evaluate[chromedp.Void](
		`new Promise((ok) => requestAnimationFrame(() => requestAnimationFrame(ok)))`,
		chromedp.EvalAwaitPromise,
	))
	return b
}

// stationWords are the words of the station's page in a language.
func stationWords(t testing.TB, code string) map[string]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("../../web/lib/words", code, "station.json"))
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]string
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	return all
}

// eachStep puts the word of every step into the big button and into a small one.
func (b *tab) eachStep(code string) {
	b.t.Helper()
	var words []string
	all := stationWords(b.t, code)
	for _, key := range stepKeys(b.t) {
		words = append(words, strings.NewReplacer("{0}", "120", "{1}", "MILL5").Replace(all[key]))
	}
	list, err := json.Marshal(words)
	if err != nil {
		b.t.Fatal(err)
	}
	for _, s := range smallest {
		b.sized(s[0], s[1])
		js := fmt.Sprintf(`(() => {
			const out = [], whole = new CSSStyleSheet();
			whole.replaceSync("button, button * { overflow-wrap: normal !important; }");
			document.adoptedStyleSheets.push(whole);
			const shown = [document.querySelector(".likely"), document.querySelector(".step")];
			for (const button of shown) {
				const copy = button.cloneNode(true), text = copy.querySelector("span") ?? copy;
				button.after(copy);
				for (const word of %s) {
					text.textContent = word;
					if (copy.scrollWidth > copy.clientWidth + 1 || copy.scrollHeight > copy.clientHeight + 1) out.push(word);
				}
				copy.remove();
			}
			document.adoptedStyleSheets.pop();
			return out;
		})()`, list)
		found, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](js))
		if err != nil || len(found) > 0 {
			b.t.Errorf("%s, %dx%d: larger than its button: %q %v", code, s[0], s[1], found, err)
		}
	}
	b.sized(1280, 800)
}

// stepKeys are the keys of what stands on buttons, as the program has them.
func stepKeys(t testing.TB) (keys []string) {
	t.Helper()
	text, err := os.ReadFile("../../kiosk/words.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`(?m)^\t"([a-z.]+)":`).FindAllSubmatch(text, -1) {
		if key := string(m[1]); !strings.HasPrefix(key, "who.") && !strings.HasPrefix(key, "key.") {
			keys = append(keys, key)
		}
	}
	if len(keys) < 30 {
		t.Fatalf("only %d steps were found: %v", len(keys), keys)
	}
	return keys
}

// TestStationSpeaks takes the station through a day in each language, and holds each
// view to the smallest screens.
func TestStationSpeaks(t *testing.T) {
	t.Parallel()
	for _, code := range traveler.Languages() {
		t.Run(code, func(t *testing.T) {
			t.Parallel()
			r := newRig(t, rigOptions{open: true})
			card, words := r.card("W-502"), stationWords(t, code)
			b := browse(t, r).open("/station?language=" + code).waitFor("choose").fitting("machines")
			b.click("pick-T1").click("choose-ok").waitFor("here").fitting("what is here")
			b.scanner(card).likely("setup").untilSays("likely", words["setup"]).fitting("a card")
			b.eachStep(code)
			b.click("likely").likely("run").untilSays("undo", words["undo.back"]).fitting("after a scan")
			b.letters(code)
			b.click("likely").likely("count").click("likely").waitFor("counts").fitting("counts").click(
				"back")
			b.click("step-stop").waitFor("reasons").fitting("reasons").click("back")
			b.click("menu").waitFor("menu-panel").fitting("menu")
			b.click("menu-language").waitFor("language-panel").fitting("languages")
			b.mirrored()
		})
	}
}

// letters holds each letter of a language's sentences to be one of the page's own
// typeface: it is as wide whatever typeface stands behind that one.
func (b *tab) letters(code string) {
	b.t.Helper()
	var text strings.Builder
	for _, group := range []string{"shared", "common", "station", "waits", "ground", "pace"} {
		part, err := os.ReadFile(filepath.Join("../../web/lib/words", code, group+".json"))
		if err != nil {
			b.t.Fatal(err)
		}
		text.Write(part)
	}
	list, err := json.Marshal(text.String() + strings.ToUpper(text.String()))
	if err != nil {
		b.t.Fatal(err)
	}
	missing, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](fmt.Sprintf(`(async () => {
		const letters = [...new Set(%s)].filter((c) => /[\p{L}¿¡„“”«»]/u.test(c));
		const own = '"Atkinson Hyperlegible Next"', pen = document.createElement("canvas").getContext("2d");
		const missing = [];
		for (const weight of ["400", "700"]) {
			await document.fonts.load(weight + " 60px " + own, letters.join(""));
			const wide = (c, other) => ((pen.font = weight + " 60px " + own + ", " + other), pen.measureText(c).width);
			for (const c of letters) if (wide(c, "monospace") !== wide(c, "serif")) missing.push(c + " " + weight);
		}
		return letters.length < 30 ? ["too few letters"] : missing;
	})()`, list), chromedp.EvalAwaitPromise))
	if err != nil || len(missing) > 0 {
		b.t.Errorf("letters that the typeface lacks: %q %v", missing, err)
	}
}

// mirrored turns the page round, as it would be for a language that is written from
// right to left: what stood at the beginning of the line stands at the other end.
func (b *tab) mirrored() {
	b.t.Helper()
	b.click("back").waitFor("batch")
	const place = `(() => { const [a, b] = ["machine-T1", "menu"].map((n) => document.querySelector('[data-test="' + n + '"]').getBoundingClientRect());
		return [a.left, innerWidth - b.right]; })()`
	at := func() []float64 {
		b.t.Helper()
		b.drawn()
		v, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]float64](place))
		if err != nil {
			b.t.Fatal(err)
		}
		return v
	}
	before := at()
	b.do(chromedp.Evaluate[chromedp.Void](`document.documentElement.dir = "rtl"`))
	b.fitting("mirrored")
	after, err := chromedp.Run(b.ctx,
		chromedp.Evaluate[[]float64](
			`(() => { const [a, b] = ["machine-T1", "menu"].map((n) => document.querySelector('[data-test="' + n + '"]').getBoundingClientRect());
		return [innerWidth - a.right, b.left]; })()`))
	if err != nil || math.Abs(before[0]-after[0]) > 1 || math.Abs(before[1]-after[1]) > 1 {
		b.t.Errorf("from the edges %v, mirrored %v (%v)", before, after, err)
	}
}

// Numbers and plural forms on a page are those of CLDR, as golang.org/x/text has it.
func TestPagesCountAsTheLanguage(t *testing.T) {
	t.Parallel()
	r := newRig(t, rigOptions{open: true})
	b := browse(t, r)
	forms := []string{plural.Other: "other", plural.Zero: "zero", plural.One: "one", plural.Two: "two",
		plural.Few: "few", plural.Many: "many"}
	for _, code := range traveler.Languages() {
		b.open("/waits?language=" + code).until(`document.querySelector("main")?.innerText.length > 10`)
		got, err := chromedp.Run(b.ctx, chromedp.Evaluate[map[string][]string](`(async () => {
			const page = document.querySelector("script[type=module]").src, at = (n) => import(new URL("../../lib/" + n, page));
			const { fixed, number } = await at("numbers.js"), { count, locale, useWords } = await at("words.js");
			const forms = ["zero", "one", "two", "few", "many", "other"];
			useWords(Object.fromEntries(forms.map((f) => ["n." + f, f])));
			return {
				forms: Array.from({ length: 130 }, (_, i) => count("n", i)),
				numbers: [number(12345), number(1234567), fixed(0.5, 1), fixed(12345.25, 2)],
				locale: [locale],
			};
		})()`, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		tag := language.MustParse(got["locale"][0])
		for i, form := range got["forms"] {
			if want := forms[plural.Cardinal.MatchPlural(tag, i, 0, 0, 0, 0)]; form != want {
				t.Errorf("%s: %d is %s, CLDR has %s", code, i, form, want)
			}
		}
		p := message.NewPrinter(tag)
		want := []string{
			p.Sprint(cldr.Decimal(12345)), p.Sprint(cldr.Decimal(1234567)),
			p.Sprint(cldr.Decimal(0.5, cldr.Scale(1))), p.Sprint(cldr.Decimal(12345.25, cldr.Scale(2))),
		}
		if !slices.Equal(got["numbers"], want) {
			t.Errorf("%s: %q, CLDR has %q", code, got["numbers"], want)
		}
	}
}

// A station page that is kept in the device changes its language too: at once where it
// was chosen, and from then on as it is kept.
func TestLanguageOfAKeptPage(t *testing.T) {
	t.Parallel()
	b := browse(t, newRig(t, rigOptions{open: true})).station("T1")
	b.until(`navigator.serviceWorker.controller`).click("menu").click("menu-language").click("language-pl")
	b.until(`document.documentElement.lang === "pl"`).waitFor("here")
	b.open("/station").until(`document.documentElement.lang === "pl"`).untilSays("menu",
		stationWords(t, "pl")["menu"])
}
