// Constants that the page shares with the program; a test compares them.

// What the scanner test card makes a scanner type.
export const TEST_CARD = "TALLYWALK KEYS 0123456789 ABCDEFGHIJKLMNOPQRSTUVWXYZ $0%0*0+0-0.0/0:0 END";

// How long the one who made a scan may take it back, in milliseconds.
export const UNDO_MS = 120000;

// How long a station remembers who is at it, and when it warns, in milliseconds.
export const BADGE_MS = 9 * 3600000;
export const BADGE_WARN_MS = 10 * 60000;
// How long at least, for someone who comes or stays at the end of a shift.
export const BADGE_KEEP_MS = 30 * 60000;

// A scan that waited longer than this is no longer one that someone waits for.
export const PRESENT_MS = 10000;

// Acknowledged scans are kept this long, to be sent again after a restore.
export const KEEP_MS = 14 * 24 * 3600000;
