// Types of what the station keeps and shows.
import type { Me, Schema } from "../../web/lib/_types.js";

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

/**
 * View is a batch as the program sees it at a machine (kiosk/station.go), or as this station
 * carries it on; of one that is still looked up there is no more than its card.
 */
export interface View {
  card: string;
  part?: string;
  part_name?: string;
  drawing_rev?: string;
  works_order?: string;
  due?: string;
  started?: number;
  wanted?: number;
  hot?: boolean;
  short?: number;
  place?: string;
  siblings?: { card: string; pieces: number }[];
  wait_reason?: string;
  questions?: number;
  machine?: string;
  machine_name?: string;
  /** What a device goes on with by itself. */
  known?: Known;
  blocked?: string;
  why?: string;
  why_key?: string[] | "";
  route?: KnownOp[];
  operation?: number;
  work_centre?: string;
  instruction?: string;
  setup_min?: number;
  cycle_min?: number;
  pieces_per_cycle?: number;
  outside?: boolean;
  left?: number;
  of?: number;
  first_off?: FirstOff;
  before?: { operation: number; work_centre: string; good: number; closed: boolean; seen: boolean };
  visit?: string;
  visit_state?: string;
  passed?: boolean;
  since?: string;
  stop_reason?: string;
  rework_for?: number;
  good?: number;
  scrap?: number;
  rework?: number;
  review?: number;
  missing?: number;
  reads?: number;
  spent_s?: number;
  plan_s?: number;
  rework_waiting?: number;
  review_waiting?: number;
  things?: Thing[];
  not_ready?: string[];
  steps?: Step[];
  /** What else keeps someone from going on, as sentences. */
  others?: Pick<Step, "key" | "word" | "args">[];
  wrong_machine?: string;
  wrong_order?: string;
  /** When it was got, in ms. */
  got?: number;
  /** The operation whose code was scanned. */
  scanned?: number;
  looking?: boolean;
  alone?: boolean;
  stranger?: boolean;
}

/** FirstOff is how the first piece stands, and who refused the one before. */
export interface FirstOff {
  wanted: boolean;
  state: string;
  by?: string;
  at?: string;
  kind?: string;
  reason?: string;
  overrule?: boolean;
}

/** Wait is a batch that waits for a machine, as the waits board has it. */
export type Wait = Schema["Row"];

/** Board is what is at a machine and what waits there, and when that was got, in ms. */
export type Board = Partial<Omit<Schema["Station"], "here" | "waiting">> & {
  here: View[];
  waiting: Wait[];
  got?: number;
};

/** When is when something happened: so many minutes ago, or at a time, and when it was picked. */
export interface When {
  ago?: number;
  at?: number;
  named?: string;
  set: number;
}

/** Machine is a machine or place of the shop. */
export interface Machine {
  machine: string;
  name: string;
  work_centre: string;
  kind?: string;
}

/** Form is a step before it is aimed at a batch, Line a line of a list: see kiosk/rules.go. */
export interface Form {
  action: string;
  key: string;
  deed: string;
  needs?: string;
  aim?: string;
  args?: string[];
  pieces?: string;
  to?: string;
  phase?: string;
  for?: string;
  reason?: string;
  unless?: string;
  who?: string;
}
export interface Line {
  when?: string[];
  do?: string[];
  each?: string;
  end?: boolean;
}

/** Rules is the program's table. */
export interface Rules {
  forms: Record<string, Form>;
  lists: Record<string, Line[]>;
  may: Record<string, string[]>;
  moves: { action: string; pieces?: string; from?: string[]; to?: string; first_off?: string }[];
  askable: string[];
  limits: { setup_min: number; first: number; again: number; leave_s: number; rest_s: number };
}

/** Known is what a device knows of a batch: see kiosk/known.go. */
export interface Known {
  card: string;
  seq: number;
  part: string;
  part_name?: string;
  drawing_rev?: string;
  works_order?: string;
  due?: string;
  released: string;
  started: number;
  wanted: number;
  hot?: boolean;
  delivered: number;
  place?: string;
  wait_reason?: string;
  held?: boolean;
  held_reason?: string;
  cancelled?: boolean;
  joined?: string;
  superseded?: string;
  on_floor?: boolean;
  first?: number;
  end_moved: number;
  questions?: number;
  siblings?: { card: string; pieces: number }[];
  inherited?: KnownVisit[];
  route: KnownOp[];
  visits: KnownVisit[];
  /** The server has to say what became of something that was said. */
  unsure?: boolean;
  /** Nothing is known of it but its card. */
  stranger?: boolean;
}

export interface KnownOp {
  operation: number;
  work_centre: string;
  instruction?: string;
  setup_min?: number;
  cycle_min?: number;
  pieces_per_cycle: number;
  outside_days?: number;
  first_off?: boolean;
  outside?: boolean;
  skipped?: boolean;
  moved: number;
  good: number;
  scrap: number;
  rework_open: number;
  review_open: number;
  missing: number;
  assumed: number;
  counted: number;
  said?: boolean;
  things?: Thing[];
}

/** Thing is something that an operation needs, and what was last said of it. */
export interface Thing {
  thing: string;
  text: string;
  state?: string;
  note?: string;
  by?: string;
  at?: string;
}

export interface KnownVisit {
  id: string;
  operation: number;
  machine: string;
  rework_for?: number;
  state: string;
  passed?: boolean;
  good: number;
  scrap: number;
  rework: number;
  review: number;
  missing: number;
  reads?: number;
  wanted: number;
  first_off?: string;
  rejected?: { by?: string; at: string; kind?: string; reason?: string; overrule?: boolean };
  since: string;
  spent: Record<string, number>;
  stop_reason?: string;
  ran_s?: number;
  counted_s?: number;
  counted_at?: string;
  made?: number;
  nearly_at?: string;
  quits_at?: string;
}

/** Tally is how the pieces stand at an operation. */
export interface Tally {
  operation: number;
  skipped: boolean;
  moved: number;
  good: number;
  scrap: number;
  reworkOpen: number;
  reviewOpen: number;
  missing: number;
  assumed: number;
  counted: number;
  said: boolean;
  seen: boolean;
  closed: boolean;
  busy: boolean;
  could: number;
  came: number;
  over: number;
  toDo: number;
}

/** Spot is where a scan belongs; visit is -1 for a new one. */
export interface Spot {
  op: number;
  visit: number;
  rework: number;
  machine: string;
}

/** Look is how a batch stands at a machine; k and visit are places in its lists, -1 for none. */
export interface Look {
  b: Known;
  at: { now: number; arrives?: boolean };
  machines: Machine[];
  m: Machine;
  role: string;
  ts: Tally[];
  k: number;
  visit: number;
  left: number;
  next: number;
}

/** Sent is Known as the program sends it: without the numbers that are 0. */
export type Sent = Omit<Known, "delivered" | "end_moved" | "route" | "visits"> &
  Partial<Pick<Known, "delivered" | "end_moved">> & { route: SentOp[]; visits: SentVisit[] };
type OpNumbers = "moved" | "good" | "scrap" | "rework_open" | "review_open" | "missing" | "assumed" | "counted";
type VisitNumbers = "good" | "scrap" | "rework" | "review" | "missing" | "wanted";
type SentOp = Omit<KnownOp, OpNumbers> & Partial<Pick<KnownOp, OpNumbers>>;
type SentVisit = Omit<KnownVisit, VisitNumbers | "spent"> &
  Partial<Pick<KnownVisit, VisitNumbers | "spent">>;

/** Scanned is what a scan says; Fields are some of it. */
export type Scanned = Fields & { station: string; card: string; action: string };
export type Fields = Omit<Partial<Schema["Scan"]>, "action" | "phase"> & { action?: string; phase?: string };

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
  /** How it says present is to be kept before it is sent. */
  marked?: boolean;
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

/** Answer is what a refusal or a question says. */
export interface Answer {
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
  role?: string;
  until: number;
  /** Something was scanned or tapped at the end of the shift. */
  kept?: boolean;
}

/** Read is what a scanner or a person typed. */
export interface Read {
  tokens: string[];
  gaps: number[];
  end: string;
}

/**
 * Kept is what lies in the browser: batches by card, the tag and the cards that the server
 * gave for each machine, whom a badge that was read here belongs to.
 */
export interface Kept {
  epoch: string;
  known: Record<string, Known>;
  texts: Record<string, string>;
  boards: Record<string, Board>;
  lists: Record<string, { tag: string; cards: string[]; arrives?: boolean }>;
  people: Record<string, { name: string; role: string; at: number }>;
}

/** Camera is one of a device: some browsers give it another id after each reload, and keep its name. */
export interface Camera {
  id: string;
  label: string;
}

/** Remembered is what a device remembers of itself. */
export interface Remembered {
  camera: Camera | string; // its id alone, as versions before kept it
  device: string;
  front: { card: string; op: number; machine: string; at: number };
  known: { me: Me; shop: Pick<Schema["Shop"], "machines" | "reasons"> };
  machine: string;
  machines: string[];
  mm: number;
  operator: Operator;
  rhythm: import("./reader.js").Rhythm;
  runner: string;
  theme: string;
}

/** Values are the small things in the box. */
export interface Values {
  device: string;
  epoch: string;
  floor: Kept;
  life: string;
  remembered: Partial<Record<keyof Remembered, unknown>> & { count?: number };
}

/** WorkerScope is what the page in the device needs of its worker. */
export interface WorkerScope {
  GRAPH: { tag: string; version: string; page: string; files: string[]; live: boolean };
  clients: { claim(): Promise<void> };
  skipWaiting(): Promise<void>;
  addEventListener(kind: string, hear: (e: WorkerEvent) => unknown): void;
}
export interface WorkerEvent extends MessageEvent {
  request: Request;
  waitUntil(done: Promise<unknown>): void;
  respondWith(answer: Promise<Response>): void;
}
