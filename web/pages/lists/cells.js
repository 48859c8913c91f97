// The cells of a table as the text of a list. No DOM here.

/**
 * separated writes cells as a list with semicolons, so that a comma may be a decimal
 * sign; lines without anything are left out.
 * @param {string[]} head
 * @param {string[][]} rows
 */
export function separated(head, rows) {
  const cell = (/** @type {string} */ c) => (/[";\n\r]/.test(c) ? `"${c.replaceAll('"', '""')}"` : c);
  const filled = rows.filter((r) => r.some((c) => c.trim()));
  return [head, ...filled].map((r) => r.map(cell).join(";")).join("\n") + "\n";
}

/**
 * pasted is what was pasted from a spreadsheet, as cells; null for a single one.
 * @param {string} text
 */
export function pasted(text) {
  const rows = text
    .replace(/\r?\n$/, "")
    .split(/\r?\n/)
    .map((line) => line.split("\t"));
  return rows.length > 1 || rows[0].length > 1 ? rows : null;
}

/**
 * laid puts pasted cells into rows, from a cell on; it adds the rows that it needs.
 * @param {string[][]} rows
 * @param {string[][]} cells
 * @param {{row: number, column: number, width: number}} at
 */
export function laid(rows, cells, at) {
  const out = rows.map((r) => [...r]);
  cells.forEach((line, i) => {
    const k = at.row + i;
    out[k] ??= Array(at.width).fill("");
    line.forEach((c, j) => {
      if (at.column + j < at.width) out[k][at.column + j] = c;
    });
  });
  return out;
}

/**
 * revised is the operations of a route under another revision, or of another part.
 * @param {string[]} head
 * @param {string[][]} rows
 * @param {string} part
 * @param {string} rev
 */
export function revised(head, rows, part, rev) {
  const p = head.indexOf("part"),
    r = head.indexOf("route_rev");
  return rows.map((row) => row.map((c, i) => (i === p ? part || c : i === r ? rev || c : c)));
}
