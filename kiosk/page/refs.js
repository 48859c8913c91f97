// Reads what was scanned or typed: a code with its check character, CODE/20, the
// card's URL in any case, or plain text. The same rules as in the program.

const CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const MOD37 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*";

/**
 * The ISO/IEC 7064 MOD 37-2 check character of digits and capital letters.
 * @param {string} s
 */
export function checkChar(s) {
  let p = 0;
  for (const ch of s) p = ((p + MOD37.indexOf(ch)) * 2) % 37;
  return MOD37[(38 - p) % 37];
}

/**
 * A code as it is printed, or '' when s is none.
 * @param {string} s
 */
function parseCode(s) {
  let c = s.replace(/[ -]/g, "").replace(/[a-z]/g, (ch) => ch.toUpperCase());
  c = c.slice(0, 1) + c.slice(1).replace(/[IL]/g, "1").replace(/O/g, "0");
  if (c.length !== 9 || !"BMPAD".includes(c[0])) return "";
  for (const ch of c.slice(1)) if (!CROCKFORD.includes(ch)) return "";
  return checkChar(c.slice(0, 8)) === c[8] ? c : "";
}

/**
 * {code, op} or {text}.
 * @param {string} raw
 * @returns {{text?: string, code?: string, op?: number}}
 */
export function parseRef(raw) {
  const s = raw.trim();
  let body = s;
  // Not by toUpperCase of the whole: that can change its length.
  const i = Math.max(s.lastIndexOf("/S/"), s.lastIndexOf("/s/"));
  if (i >= 0 && s.includes("://")) body = s.slice(i + 3);
  body = body.split("?")[0].replace(/\/$/, "");
  const [head, ...tail] = body.split("/");
  const code = parseCode(head);
  if (!code) return { text: s };
  if (!tail.length) return { code, op: 0 };
  const op = tail.join("/");
  if (!/^\d{1,5}$/.test(op) || Number(op) === 0) return { text: s };
  return { code, op: Number(op) };
}

/** A new code for a device that nobody gave one. */
export function newDeviceCode() {
  for (;;) {
    const bytes = crypto.getRandomValues(new Uint8Array(7));
    const c = "D" + [...bytes].map((b) => CROCKFORD[b & 31]).join("");
    const check = checkChar(c);
    if (CROCKFORD.includes(check)) return c + check;
  }
}
