import { z } from 'zod';
import { alphaRules } from '../../design/response-surface/alpha.ts';
import { Model } from '../../term/term.ts';

const count = z.int().min(1).max(200);

/** Cells added on another day, or from another batch, are a block of their own once cells are begun. */
const block = z.enum(['new', 'same']).default('new');

/** What may be added to a plan that is under way; each becomes new events, never a change of old ones. */
export const Addition = z.discriminatedUnion('kind', [
  /** Cells at the centre, as a block of their own once cells are done. */
  z.strictObject({ kind: z.literal('centre points'), count: count.default(3), block }),
  /** Everything again, or only the cells named, as a new block. */
  z.strictObject({ kind: z.literal('replicates'), cells: z.array(count).min(1).optional(), block }),
  /** Axial points and centre: corners become a composite. */
  z.strictObject({
    kind: z.literal('axial block'),
    alpha: z.union([z.number().positive().max(10), z.enum(alphaRules)]).default('face-centred'),
    centrePoints: z.int().min(0).max(50).default(3),
    block,
  }),
  /** Signs reversed: of all factors, or of those named; with `keep` only half of it. */
  z.strictObject({
    kind: z.literal('fold-over'),
    reverse: z.array(z.string()).min(1).optional(),
    keep: z.strictObject({ factor: z.string(), at: z.enum(['low', 'high']) }).optional(),
    block,
  }),
  /** The best new cells for a bigger model, given the cells that stand. */
  z.strictObject({
    kind: z.literal('bigger model'),
    model: Model.default('quadratic'),
    runs: count.optional(),
    /** New settings of the hard factors; cells are spread over them. */
    wholePlots: count.optional(),
    criterion: z.enum(['D', 'A', 'I']).default('I'),
    starts: z.int().min(1).max(1000).default(20),
    block,
  }),
  /** Cells in place of failed ones, pulled in toward the centre. */
  z.strictObject({ kind: z.literal('replace failed') }),
  /** A factor's range moved; waiting cells outside it give way to the best new ones inside. */
  z.strictObject({
    kind: z.literal('move range'),
    factor: z.string(),
    low: z.number(),
    high: z.number(),
    runs: z.int().min(0).max(200).optional(),
    block,
  }),
  /** Cells along the steepest improvement of a response, from the centre outward. */
  z.strictObject({
    kind: z.literal('steepest path'),
    response: z.string(),
    steps: z.int().min(1).max(12).default(4),
    /** Length of a step, in half-ranges of the factor that moves most. */
    stride: z.number().positive().max(2).default(0.5),
    block,
  }),
  /** All ranges shifted along the steepest improvement, with the best new cells there. */
  z.strictObject({
    kind: z.literal('shift region'),
    response: z.string(),
    by: z.number().positive().max(4).default(1),
    runs: count.optional(),
    block,
  }),
]);
export type Addition = z.infer<typeof Addition>;
/** An addition as it may be written, defaults left out. */
export type AdditionInput = z.input<typeof Addition>;
export type AdditionOf<K extends Addition['kind']> = Extract<Addition, { kind: K }>;
export const additionKinds = Addition.options.map(({ shape }) => shape.kind.value);
