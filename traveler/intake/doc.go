// Package intake reads what a shop has in lists: machines, routes, reasons,
// people and batches, as CSV, as the first sheet of an XLSX workbook, or as JSON
// Lines; and it writes lists of batches, visits and scans in the same forms, so
// that what was written can be read. A file with anything wrong in it is refused as a
// whole, with each place named: file, line, column, value and reason.
//
// CSV is read as RFC 4180 has it, in UTF-8 with or without a byte order mark,
// with LF or CRLF, separated by comma, semicolon or tab. Numbers have a decimal
// point, or a decimal comma where the separator is not a comma. Dates are
// 2026-11-25 or 25.11.2026. What could be read two ways is refused.
//
// # Decisions, with their reasons
//
//   - Times in a workbook are dates by the shop's clock, and say how far it was from
//     UTC: an hour that comes twice would be lost.
package intake
