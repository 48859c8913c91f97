// Who may take back what: the one who is at the station now, and only what that
// one said. No DOM here.

const person = (who) => who?.person || '';

/** Whether a kept scan is of the one who is there now. */
export const isOwn = (entry, who) => !!entry && (entry.scan.operator || '') === person(who);

/** A scan as the one who is there now says it. */
export function spokenBy(scan, who) {
  const { operator, ...rest } = scan;
  return person(who) ? { ...rest, operator: person(who) } : rest;
}

/** The scan that takes an earlier one back; null for what is not one's own. */
export function undoScan(entry, who, language) {
  if (!isOwn(entry, who)) return null;
  return spokenBy({ station: entry.scan.station, card: entry.scan.card, action: 'undo', for: entry.id, language }, who);
}
