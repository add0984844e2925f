import { z } from 'zod';
import { Factor } from '../factor/factor.ts';
import { Model, Powers, termKey, termName } from '../term/term.ts';
import { SettingLimit } from './setting-limit.ts';

/**
 * Kinds of response. `continuous`: least squares as it stands. `spread`: a standard deviation,
 * modelled as its natural logarithm. `count`: Poisson with log link and an exposure. `pass-fail`:
 * did a strand form.
 */
export const ResponseKind = z.enum(['continuous', 'spread', 'count', 'pass-fail']);
export type ResponseKind = z.infer<typeof ResponseKind>;

/**
 * What is wanted of a response, in its own unit. `smallest`: 1 at or below `target`, 0 at or above
 * `high`. `largest`: 0 at or below `low`, 1 at or above `target`. `target`: 0 at `low` and `high`,
 * 1 at `target`. `shape` bends the ramps, `importance` weighs the response in the joint value.
 */
export const Goal = z.strictObject(
  {
    aim: z.enum(['smallest', 'largest', 'target']),
    low: z.number().optional(),
    target: z.number().optional(),
    high: z.number().optional(),
    shape: z.number().positive().optional(),
    importance: z.number().positive().optional(),
  },
  {
    error: ({ code }) =>
      code === 'invalid_type'
        ? 'a goal must say its aim, such as {"aim": "largest"}, {"aim": "smallest"} or {"aim": "target", "target": 1.75}'
        : undefined,
  },
);
export type Goal = z.infer<typeof Goal>;

/**
 * `exposure` and `weight` name columns of the run table. `family` is how a count scatters about its
 * mean; left out, the counts themselves decide.
 */
export const Response = z.strictObject({
  name: z.string().trim().min(1).max(60),
  kind: ResponseKind,
  unit: z.string().max(20).optional(),
  exposure: z.string().optional(),
  weight: z.string().optional(),
  family: z.enum(['poisson', 'quasi-poisson', 'negative-binomial']).optional(),
  goal: Goal.optional(),
});
export type Response = z.infer<typeof Response>;

const settings = z.record(z.string(), z.union([z.number(), z.string()]));

/**
 * A question of the user's own put to every response: the difference between two settings (natural
 * units; a factor left out stands at its centre, a named one at the mean of its levels), or any
 * combination of the model's terms.
 */
export const Contrast = z.union([
  z.strictObject({ name: z.string().trim().min(1).max(80), at: settings, less: settings }),
  z.strictObject({
    name: z.string().trim().min(1).max(80),
    weights: z.array(z.strictObject({ term: Powers, weight: z.number() })).min(1),
  }),
]);
export type Contrast = z.infer<typeof Contrast>;

/**
 * The one file that `plan` and `fit` take: factors, responses, model and structure. `wholePlot`
 * and `block` name columns of the run table; `blocks` says how the latter is taken: as shifts of
 * their own, or as drawn from a population of days or batches. Left out, three or more blocks of
 * whole plots are drawn, others are shifts. `covariates` name columns of numbers that were noted
 * rather than set, such as hours since drying; they enter linearly. `runOrder` and `clock` name
 * columns that say when a run was made. `limits`, `family` and `options` concern planning only; what
 * `options` may hold is said by each family.
 */
export const Spec = z
  .strictObject({
    factors: z.array(Factor).min(1),
    responses: z.array(Response).default([]),
    model: Model.default('quadratic'),
    wholePlot: z.string().optional(),
    subWholePlot: z.string().optional(),
    block: z.string().optional(),
    blocks: z.enum(['fixed', 'random']).optional(),
    covariates: z.array(z.string().min(1)).optional(),
    runOrder: z.string().optional(),
    clock: z.string().optional(),
    contrasts: z.array(Contrast).optional(),
    limits: z.array(SettingLimit).optional(),
    family: z.string().optional(),
    options: z.record(z.string(), z.unknown()).optional(),
  })
  .check((context) => {
    const { factors, responses, model } = context.value;
    const refuse = (path: (string | number)[], message: string): void => {
      context.issues.push({ code: 'custom', input: context.value, path, message });
    };
    const firstAt = new Map<string, number>();
    for (const [i, { name }] of factors.entries()) {
      const key = name.toLowerCase();
      const first = firstAt.get(key);
      if (first !== undefined) {
        refuse(
          ['factors', i, 'name'],
          `factor names must differ; got "${name}" twice (factors ${first + 1} and ${i + 1}). Rename one.`,
        );
      } else firstAt.set(key, i);
    }
    const { blocks, block, subWholePlot, covariates = [] } = context.value;
    if (blocks !== undefined && block === undefined)
      refuse(['blocks'], `blocks need the column that names them; got no "block". Add it.`);
    if (blocks === 'random' && subWholePlot !== undefined)
      refuse(
        ['blocks'],
        'blocks drawn from a population leave room for one stratum of plots; got wholePlot and subWholePlot too. Take blocks as fixed.',
      );
    for (const [i, name] of covariates.entries())
      if (firstAt.has(name.toLowerCase()))
        refuse(
          ['covariates', i],
          `a covariate must not carry a factor's name; got "${name}". Leave it out.`,
        );
    const responseNames = new Set<string>();
    for (const [i, { name }] of responses.entries()) {
      if (responseNames.has(name))
        refuse(
          ['responses', i, 'name'],
          `response names must differ; got "${name}" twice. Rename one.`,
        );
      if (firstAt.has(name.toLowerCase()))
        refuse(
          ['responses', i, 'name'],
          `a response must not carry a factor's name; got "${name}". Rename one.`,
        );
      responseNames.add(name);
    }
    if (typeof model === 'string') return;
    const keys = model.terms.map(termKey);
    for (const [i, powers] of model.terms.entries()) {
      if (keys.indexOf(keys[i]!) < i)
        refuse(
          ['model', 'terms', i],
          `terms must differ; got "${termName(powers)}" twice. Leave one out.`,
        );
      for (const [factor, power] of Object.entries(powers)) {
        const known = factors.find((candidate) => candidate.name === factor);
        if (!known) {
          refuse(
            ['model', 'terms', i],
            `a term must use known factors; got "${factor}". Known: ${factors.map((f) => f.name).join(', ')}.`,
          );
        } else if (
          'levels' in known &&
          !(typeof power === 'string' && known.levels.includes(power))
        ) {
          refuse(
            ['model', 'terms', i, factor],
            `a term in "${factor}" must name one of its levels (${known.levels.join(', ')}); got ${JSON.stringify(power)}.`,
          );
        } else if ('low' in known && typeof power !== 'number') {
          refuse(
            ['model', 'terms', i, factor],
            `a power of "${factor}" must be a whole number; got ${JSON.stringify(power)}.`,
          );
        }
      }
    }
  });
export type Spec = z.infer<typeof Spec>;
