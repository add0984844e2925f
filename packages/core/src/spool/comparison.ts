import { z } from 'zod';
import type { SpoolCertificate } from './certificate.ts';
import { individualsChart } from './individuals-chart.ts';

const limits = z.strictObject({ centre: z.number(), low: z.number(), high: z.number() });
const chart = z.strictObject({
  figure: z.string(),
  unit: z.string(),
  /** Scale on which the chart is drawn; SDs are compared by ratio. */
  scale: z.enum(['as it is', 'natural logarithm']),
  values: z.array(z.number()),
  individuals: limits,
  movingRange: limits,
  signals: z.array(z.strictObject({ spool: z.string(), rule: z.string() })),
  jumps: z.array(z.string()),
});

/** Many spools as control charts of individuals and moving range, one figure each. */
export const SpoolComparison = z.strictObject({
  format: z.literal('strandwise spool comparison'),
  version: z.literal(1),
  spools: z.array(z.strictObject({ spool: z.string(), at: z.string(), accepted: z.boolean() })),
  baseline: z.int().positive(),
  accepted: z.int().nonnegative(),
  charts: z.array(chart),
});
export type SpoolComparison = z.infer<typeof SpoolComparison>;

interface Figure {
  readonly figure: string;
  readonly unit: string;
  readonly scale: 'as it is' | 'natural logarithm';
  readonly of: (certificate: SpoolCertificate) => number | null;
}

const figures: readonly Figure[] = [
  { figure: 'mean diameter', unit: 'mm', scale: 'as it is', of: ({ mean }) => mean.value },
  { figure: 'SD of diameter', unit: 'mm', scale: 'natural logarithm', of: ({ sd }) => sd.value },
  { figure: 'Ppk', unit: '', scale: 'as it is', of: ({ performance }) => performance.nearer.value },
  {
    figure: 'bubbles not above',
    unit: 'per m',
    scale: 'as it is',
    of: ({ bubbles }) => bubbles?.rateNotAbove ?? null,
  },
];

/**
 * Compares spools in the order they were made. A figure that some spool lacks is left out.
 *
 * @param baseline - how many of the first spools set the limits; all when absent
 * @throws {DomainError} `too_few_values` when fewer than two spools set the limits
 */
export function spoolComparison(
  certificates: readonly SpoolCertificate[],
  baseline = certificates.length,
): SpoolComparison {
  const names = certificates.map(({ spool }) => spool);
  return {
    format: 'strandwise spool comparison',
    version: 1,
    spools: certificates.map(({ spool, at, accepted }) => ({ spool, at, accepted })),
    baseline,
    accepted: certificates.filter(({ accepted }) => accepted).length,
    charts: figures.flatMap(({ figure, unit, scale, of }) => {
      const raw = certificates.map(of);
      if (raw.some((value) => value === null)) return [];
      const values = raw.map((value) => (scale === 'as it is' ? value! : Math.log(value!)));
      const { individuals, ranges, signals, jumps } = individualsChart(values, { baseline });
      return [
        {
          figure,
          unit,
          scale,
          values: raw as number[],
          individuals: { ...individuals },
          movingRange: { ...ranges },
          signals: signals.map(({ at, rule }) => ({ spool: names[at]!, rule })),
          jumps: jumps.map((at) => names[at]!),
        },
      ];
    }),
  };
}
