// Types of what the station keeps and shows.

/** Step is what can be said of a batch here, as the program offers it. */
export interface Step {
  action: string;
  key: string;
  needs?: string;
  word?: string;
  args?: string[];
  likely?: boolean;
  operation?: number;
  visit?: string;
  phase?: string;
  for?: string;
  reason?: string;
  to?: string;
  pieces?: number;
  work_centre?: string;
}

/** View is a batch as the program sees it at a machine, or as this station carries it on. */
export type View = Record<string, any> & { card: string; steps?: Step[] };

/** Scanned is what a scan says. */
export type Scanned = Record<string, any>;

/** Loss is some pieces that did not come out good. */
export interface Loss {
  kind: string;
  n: number;
  reason: string;
  caused_at?: number;
}

/** Before is how an entry was answered before a copy of the record was put back. */
export interface Before {
  outcome: string;
  seq: number;
  issued: string;
}

/** Entry is a scan that this device keeps, with what became of it. */
export interface Entry {
  n: number;
  id: string;
  scan: Scanned;
  state: string;
  made: number;
  told: number;
  epoch?: string;
  present?: boolean;
  flipped?: boolean;
  now?: boolean;
  say?: string;
  offer?: boolean;
  asks?: boolean;
  issued?: string;
  seq?: number;
  read?: boolean;
  before?: Before;
}

/** Result is the server's answer to one scan. */
export interface Result {
  id: string;
  outcome: string;
  say?: string;
  status?: number;
  seq?: number;
  issued?: string;
  offer?: boolean | string;
  asks?: boolean;
}

/** Told is what a refusal or a question says. */
export interface Told {
  kind: string;
  title: string;
  text?: string;
  card?: string;
  anyway?: Scanned | null;
  word?: string;
}

/** Operator is who is at the station, until when in ms since 1970. */
export interface Operator {
  person: string;
  name: string;
  until: number;
}

/** Read is what a scanner or a person typed. */
export interface Read {
  tokens: string[];
  gaps: number[];
  end: string;
}
