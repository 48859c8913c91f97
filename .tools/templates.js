// A plugin for prettier: it formats the page templates, html`...`, which
// prettier leaves as they are.
//
// The template language (htm) drops the whitespace at an end of a text where it
// holds a line end, and keeps it where it does not. So a line may end between
// attributes, between two words, and where tags and values touch. Where a text
// begins or ends with a blank, a line that ends there says so: ${" "}.
import * as babel from "prettier/plugins/babel";
import * as estree from "prettier/plugins/estree";
import { doc } from "prettier";

const { fill, group, ifBreak, indent, line, lineSuffixBoundary, softline } = doc.builders;

const plain = estree.printers.estree;

const isTemplate = (node) =>
  node.type === "TaggedTemplateExpression" && node.tag.type === "Identifier" && node.tag.name === "html";

const isBlank = (node) => node.type === "StringLiteral" && node.value === " ";

function embed(path, options) {
  if (!isTemplate(path.node)) return plain.embed(path, options);
  const { quasi } = path.node;
  const tree = parse(tokensOf(quasi), quasi.expressions);
  if (!tree) return undefined;
  return (_toDoc, print) => {
    const values = path.map(print, "quasi", "expressions").map((d) => ["${", d, lineSuffixBoundary, "}"]);
    if (tree.length === 1 && tree[0].kind !== "text") return group(["html`", printOne(tree[0], values), "`"]);
    return group(["html`", around(tree, values), "`"]);
  };
}

// around prints children with the line ends and the indent that they may have.
function around(list, values) {
  const first = list[0]?.kind === "blank" ? "" : softline;
  const last = list.at(-1)?.kind === "blank" ? "" : softline;
  return [indent([first, printAll(list, values)]), last];
}

// A blank that stays one where the line ends.
const blank = ifBreak(['${" "}', softline], " ");

// printAll fills lines where there is text; without, each child has its own
// line if all do not fit in one.
function printAll(list, values) {
  const parts = [];
  list.forEach((c, i) => {
    const before = list[i - 1];
    const isEdge = i === 0 || i === list.length - 1;
    if (c.kind === "blank") {
      parts.push(isEdge ? " " : blank);
    } else {
      if (before && before.kind !== "blank") parts.push(separator(before, c));
      parts.push(printOne(c, values));
    }
  });
  const isFilled = list.some((c) => c.kind === "text" || c.kind === "blank");
  return isFilled ? fill(alternate(parts)) : parts;
}

function separator(a, b) {
  if (a.kind === "text" && b.kind === "text") return line;
  return a.kind === "text" || b.kind === "text" ? "" : softline;
}

// alternate makes what fill wants, content and separators in turn: what may not
// be parted is one content.
function alternate(parts) {
  const out = [];
  for (const d of parts) {
    if (d === line || d === softline || d === blank) {
      out.push(d);
    } else if (out.length % 2 === 1) {
      out[out.length - 1] = [out.at(-1), d];
    } else out.push(d);
  }
  return out;
}

const filled = (parts, values) => parts.map((x) => (typeof x === "number" ? values[x] : x));

function printOne(c, values) {
  if (c.kind === "value") return values[c.index];
  if (c.kind === "text") return c.word;
  if (c.kind === "comment") return ["<!--", ...filled(c.text, values), "-->"];
  const head = ["<", ...filled(c.name, values), indent(c.attrs.map((a) => [line, filled(a, values)]))];
  if (c.selfClosing) return group([...head, line, "/>"]);
  const open = group([...head, ">"]);
  const close = ["</", ...filled(c.close, values), ">"];
  if (c.children.length === 0) return group([open, ...close]);
  return group([open, around(c.children, values), ...close]);
}

// tokensOf is a template as characters, escapes together, with values as their
// numbers.
function tokensOf(quasi) {
  const out = [];
  quasi.quasis.forEach((q, i) => {
    if (i > 0) out.push(i - 1);
    out.push(...(q.value.raw.match(/\\.|[^]/gu) ?? []));
  });
  return out;
}

// parse reads a template as htm does; undefined for one that is not closed.
function parse(tokens, expressions) {
  const root = { children: [] };
  const open = [root];
  let at = 0;
  const peek = (s) => tokens.slice(at, at + s.length).join("") === s;
  while (at < tokens.length) {
    const text = [];
    while (at < tokens.length && tokens[at] !== "<") text.push(tokens[at++]);
    open.at(-1).children.push(...textOf(text, expressions));
    if (at >= tokens.length) break;
    if (peek("<!--")) {
      const c = { kind: "comment", text: [] };
      for (at += 4; at < tokens.length && !peek("-->"); at++) c.text.push(tokens[at]);
      at += 3;
      open.at(-1).children.push(c);
    } else if (peek("</")) {
      const close = [];
      for (at += 2; at < tokens.length && tokens[at] !== ">"; at++) close.push(tokens[at]);
      at++;
      if (open.length === 1) return undefined;
      open.pop().close = close;
    } else {
      const [tag, next] = tagAt(tokens, at + 1);
      at = next;
      open.at(-1).children.push(tag);
      if (!tag.selfClosing) open.push(tag);
    }
  }
  return open.length === 1 ? root.children : undefined;
}

// tagAt reads a tag after its "<" and gives it with the place after its ">".
function tagAt(tokens, start) {
  const tag = { kind: "tag", name: [], attrs: [], children: [], close: [], selfClosing: false };
  let part = tag.name;
  let quote = "";
  let at = start;
  for (; at < tokens.length; at++) {
    const x = tokens[at];
    if (!quote && x === ">") break;
    if (!quote && x === "/" && tokens[at + 1] === ">") tag.selfClosing = true;
    else if (!quote && typeof x === "string" && /\s/.test(x)) part = undefined;
    else {
      if (!part) tag.attrs.push((part = []));
      part.push(x);
      if (x === quote) quote = "";
      else if (!quote && (x === '"' || x === "'")) quote = x;
    }
  }
  return [tag, at + 1];
}

// textOf splits what stands between two tags into words, values and blanks.
function textOf(tokens, expressions) {
  const out = [];
  let run = "";
  const end = () => {
    const t = run.replace(/^\s*\n\s*|\s*\n\s*$/g, "");
    run = "";
    if (t === "") return;
    if (/^\s/.test(t)) out.push({ kind: "blank" });
    for (const word of t.split(/\s+/).filter(Boolean)) out.push({ kind: "text", word });
    if (/\S\s+$/.test(t)) out.push({ kind: "blank" });
  };
  for (const x of tokens) {
    if (typeof x !== "number") {
      run += x;
      continue;
    }
    end();
    out.push(isBlank(expressions[x]) ? { kind: "blank" } : { kind: "value", index: x });
  }
  end();
  return out;
}

export const printers = { estree: { ...plain, embed } };
// A parser's own plugin is asked for a printer first: so both come from here.
export const parsers = { babel: babel.parsers.babel };
