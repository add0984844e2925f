import { z } from 'zod';
import { Factor } from '../factor/factor.ts';
import { MeasuredResponses } from '../measurement/measured-responses.ts';
import { HoldRule } from '../schedule/hold.ts';
import { PlannedRun } from '../schedule/planned-run.ts';
import { Response } from '../spec/spec.ts';
import { Model } from '../term/term.ts';
import { Grade, Product } from '../trade/grade.ts';
import { Line, SetPoints } from '../trade/line.ts';
import {
  bubblesRecounted,
  cellLeftOut,
  clockJumped,
  gaugeDescribed,
  holdsLearned,
  LightsSeen,
} from './walk-event.ts';

const text = z.string().trim().min(1).max(2000);
const cell = z.int().positive();

/** Which way a cell went wrong; it informs where the line runs, so it is never just "missing". */
export const FailureDirection = z.enum(['cold', 'hot', 'no feed', 'blocked', 'other']);
export type FailureDirection = z.infer<typeof FailureDirection>;

/** What an operator sees of a strand, cold to hot; `no feed`: the screw is starved or bridged. */
export const StrandLook = z.enum(['unmelted', 'stiff', 'holds shape', 'soft', 'runs', 'no feed']);
export type StrandLook = z.infer<typeof StrandLook>;

/** A plan as adopted: every cell in order, and what was said of it at the time. */
export const AdoptedPlan = z.strictObject({
  family: z.string(),
  model: Model,
  seed: z.int(),
  order: z.string(),
  runs: z.array(PlannedRun).min(1),
  hours: z.number().nonnegative().nullable(),
  grams: z.number().nonnegative().nullable(),
  notes: z.array(z.string()).default([]),
  /** How long to wait after a change; the usual computed hold when absent. */
  holdRule: HoldRule.optional(),
});
export type AdoptedPlan = z.infer<typeof AdoptedPlan>;

/** A reference to bytes kept beside the events, by the SHA-256 of their content. */
export const RawReference = z.strictObject({
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
  name: z.string(),
  bytes: z.int().nonnegative(),
});
export type RawReference = z.infer<typeof RawReference>;

const opened = z.strictObject({
  kind: z.literal('study opened'),
  name: z.string().trim().min(1).max(80),
  invented: z.boolean().default(false),
  grade: Grade,
  line: Line,
  product: Product,
  factors: z.array(Factor).min(1),
  responses: z.array(Response).min(1),
  /** Settings of whatever is not a factor, by what it acts on ("tilt", "screw", "fan"). */
  fixed: z.record(z.string(), z.number()).default({}),
  seed: z.int(),
});
const planAdopted = z.strictObject({ kind: z.literal('plan adopted'), plan: AdoptedPlan });
const planExtended = z.strictObject({
  kind: z.literal('plan extended'),
  purpose: z.enum(['augment', 'confirm', 'replace']),
  runs: z.array(PlannedRun).min(1),
  says: text,
  /** The model that the plan is for from now on; as before when absent. */
  model: Model.optional(),
  /** Cells not begun that the new ones stand in for. */
  leftOut: z.array(cell).optional(),
});
const checksConfirmed = z.strictObject({
  kind: z.literal('checks confirmed'),
  items: z.array(text).min(1),
  barrelHolds: z.string().min(1),
  driedHours: z.number().nonnegative().nullable(),
  hoursSinceDrying: z.number().nonnegative().nullable(),
  /** Steps that brought this grade into the barrel, as they were shown and done. */
  changeover: z.array(text).optional(),
});
const settingsEntered = z.strictObject({
  kind: z.literal('settings entered'),
  cell,
  setPoints: SetPoints,
  holdSeconds: z.number().nonnegative(),
});
const holdEnded = z.strictObject({
  kind: z.literal('hold ended'),
  cell,
  how: z.enum(['full', 'early', 'longer']),
  heldSeconds: z.number().nonnegative(),
  lights: LightsSeen.optional(),
});
const logAttached = z.strictObject({
  kind: z.literal('log attached'),
  cell,
  raw: RawReference,
  rows: z.int().nonnegative(),
  unparsedRows: z.int().nonnegative().default(0),
  /** What the settled stretch says; recomputable from the raw bytes. */
  measured: MeasuredResponses,
  says: z.array(z.string()).default([]),
  /** Where the readings came from, when they were taken live; the raw bytes then hold every line. */
  gauge: text.optional(),
});
const valueEntered = z.strictObject({
  kind: z.literal('value entered'),
  cell,
  response: z.string().min(1),
  value: z.number(),
});
const bubblesCounted = z.strictObject({
  kind: z.literal('bubbles counted'),
  cell,
  count: z.int().nonnegative(),
  metres: z.number().positive(),
});
const noteWritten = z.strictObject({
  kind: z.literal('note written'),
  cell: cell.nullable(),
  text,
});
const cellFinished = z.strictObject({ kind: z.literal('cell finished'), cell });
const cellFailed = z.strictObject({
  kind: z.literal('cell failed'),
  cell,
  direction: FailureDirection,
  next: z.enum(['again', 'later', 'leave out']),
  /** Path of a photo or file that shows it. */
  evidence: z.string().max(400).optional(),
  /** What a live gauge saw until it failed. */
  raw: RawReference.optional(),
});
const cellPostponed = z.strictObject({ kind: z.literal('cell postponed'), cell });
const cellReopened = z.strictObject({ kind: z.literal('cell reopened'), cell });
const gaugeTrouble = z.strictObject({
  kind: z.literal('gauge trouble'),
  cell: cell.nullable(),
  trouble: z.string().min(1),
});
/** `why` of the entry holds what the next person should know. */
const handedOver = z.strictObject({
  kind: z.literal('handed over'),
  to: z.string().trim().min(1).max(60),
});
const entryUndone = z.strictObject({ kind: z.literal('entry undone'), seq: z.int().positive() });
const scoutStep = z.strictObject({
  kind: z.literal('scout step'),
  setPoints: SetPoints,
  levelCelsius: z.number(),
  seen: StrandLook,
  /** What this step was to find out. */
  purpose: z.enum(['level', 'screw', 'fan', 'corner']).default('level'),
});
const rangesProposed = z.strictObject({
  kind: z.literal('ranges changed'),
  factors: z.array(Factor).min(1),
  says: text,
});
/** A named person with authority allows what is refused by default; recorded, not judged. */
const exceptionRecorded = z.strictObject({
  kind: z.literal('exception recorded'),
  material: text,
  by: z.string().trim().min(1).max(60),
  reason: text,
});
const modelChosen = z.strictObject({
  kind: z.literal('model chosen'),
  response: z.string().min(1),
  model: Model,
});
const recipeProposed = z.strictObject({
  kind: z.literal('recipe proposed'),
  setPoints: SetPoints,
  natural: z.record(z.string(), z.union([z.number(), z.string()])),
  says: z.array(z.string()),
});
const recipeReleased = z.strictObject({
  kind: z.literal('recipe released'),
  version: z.int().positive(),
  setPoints: SetPoints,
  card: z.record(z.string(), z.unknown()),
});
const spoolCertified = z.strictObject({
  kind: z.literal('spool certified'),
  spool: z.string().min(1),
  raw: RawReference,
  accepted: z.boolean(),
  certificate: z.record(z.string(), z.unknown()),
});
const shutDown = z.strictObject({
  kind: z.literal('shut down'),
  barrelHolds: z.string().min(1),
  steps: z.array(text),
});

/** Everything that can happen to a study. The kinds are public: they stand in files. */
export const Happening = z.discriminatedUnion('kind', [
  opened,
  planAdopted,
  planExtended,
  checksConfirmed,
  settingsEntered,
  holdEnded,
  logAttached,
  valueEntered,
  bubblesCounted,
  bubblesRecounted,
  noteWritten,
  cellFinished,
  cellFailed,
  cellPostponed,
  cellLeftOut,
  cellReopened,
  gaugeDescribed,
  gaugeTrouble,
  clockJumped,
  holdsLearned,
  handedOver,
  entryUndone,
  scoutStep,
  rangesProposed,
  exceptionRecorded,
  modelChosen,
  recipeProposed,
  recipeReleased,
  spoolCertified,
  shutDown,
]);
export type Happening = z.infer<typeof Happening>;
export type HappeningKind = Happening['kind'];
export type HappeningOf<K extends HappeningKind> = Extract<Happening, { kind: K }>;

/** One line of a study's log: who, when, what, why. `seq` counts from 1 without gaps. */
export const StudyEvent = z.strictObject({
  seq: z.int().positive(),
  at: z.iso.datetime(),
  who: z.string().trim().min(1).max(60),
  what: Happening,
  why: z.string().max(2000).optional(),
});
export type StudyEvent = z.infer<typeof StudyEvent>;
export type StudyOpened = HappeningOf<'study opened'>;

/** What a writer hands in: everything but its place in the log. */
export type NewEvent = Omit<StudyEvent, 'seq'>;
