package main

import (
	"strings"
	"testing"
)

func TestModuleArrows(t *testing.T) {
	// What the other files of the small project are, beside the one that is tested.
	rest := map[string]string{
		"web/lib/words.js":              "export const say = 1;\n",
		"web/lib/types.d.ts":            "export type Shop = {};\n",
		"web/lib/vendor/ui.js":          "export const html = 1;\n",
		"web/pages/waits/waits.js":      "export const a = 1;\n",
		"web/pages/waits/wall.js":       "import { a } from \"./waits.js\";\nexport const b = a;\n",
		"web/pages/pace/pace.js":        "export const c = 1;\n",
		"kiosk/page/state.js":           "export const d = 1;\n",
		"kiosk/page/_outbox.test.js":    "import test from \"node:test\";\nimport \"../../web/pages/pace/pace.js\";\n",
		"web/static/no/room/of/ours.js": "import x from \"/anything\";\n",
	}
	for _, test := range []struct{ file, src, fault string }{
		{"web/lib/a.js", `import { say } from "./words.js";`, ""},
		{"web/lib/a.js", `import { html } from "./vendor/ui.js";`, ""},
		{"web/lib/a.js", `import { a } from "../pages/waits/waits.js";`, "the arrows from web/lib"},
		{"web/lib/a.js", `import { d } from "../../kiosk/page/state.js";`, "the arrows from web/lib"},
		{"web/pages/waits/a.js", `import { say } from "../../lib/words.js";`, ""},
		{"web/pages/waits/a.js", `import { b } from "./wall.js";`, ""},
		{"web/pages/waits/a.js", `import { c } from "../pace/pace.js";`, "the arrows from web/pages/waits"},
		{"kiosk/page/a.js", `import { say } from "../../web/lib/words.js";`, ""},
		{"kiosk/page/a.js", `import { a } from "../../web/pages/waits/waits.js";`,
			"the arrows from kiosk/page"},
		{"kiosk/page/a.js", "import {\n  d,\n  e,\n} from \"../../web/pages/waits/waits.js\";",
			"the arrows from kiosk/page"},
		{"kiosk/page/a.js", `const late = () => import("../../web/pages/waits/waits.js");`,
			"the arrows from kiosk/page"},
		{"kiosk/page/a.js", `import "/static/words.js";`, "only relative"},
		{"kiosk/page/a.js", `import fs from "node:fs";`, "only relative"},
		{"kiosk/page/a.js", `import { x } from "./none.js";`, "no such file"},
		{"web/pages/waits/waits.js", `import { b } from "./wall.js";`,
			"circle of imports: web/pages/waits/waits.js -> web/pages/waits/wall.js -> web/pages/waits/waits.js"},
		{"web/lib/a.js", `/** @type {import("./types.js").Shop} */`, ""},
		{"web/lib/a.js", `/** @type {import("./typos.js").Shop} */`, "no such file"},
		{"web/lib/a.js", "// " + strings.Repeat("ü", 107), ""},
		{"web/lib/a.js", "// " + strings.Repeat("ü", 108), "111 columns"},
	} {
		files := map[string]string{}
		for name, src := range rest {
			files[name] = src
		}
		files[test.file] = test.src + "\n"
		t.Run(test.file+" "+test.src, func(t *testing.T) { wantFault(t, houseOf(t, files), test.fault) })
	}
}
