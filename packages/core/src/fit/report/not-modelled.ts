import type { CannotSay } from './fit-result.ts';
import type { Prepared } from './prepared.ts';
import { plotStrata } from './report-split-plot.ts';

/**
 * Structure of the runs that the model of a count or of passing leaves out: counts know one stratum of
 * plots, passing none, and blocks are shifts of their own in both. Errors may then be too small, which
 * is said rather than hoped away. Measured values and spreads have all of it in their model.
 */
export function notModelled(prepared: Prepared): CannotSay[] {
  const { spec, response, runs } = prepared;
  if (response.kind === 'continuous' || response.kind === 'spread') return [];
  const { names } = plotStrata(prepared);
  const left = response.kind === 'count' ? names.slice(1) : names;
  const said: CannotSay[] = [];
  if (left.length > 0)
    said.push({
      kind: 'not-modelled',
      says: `Runs of one ${left.join(' or one ')} are taken as if they had nothing in common in the model of ${response.name}: errors and p of terms set once a ${left.join(' or ')} may be too small.`,
    });
  const isDrawn = spec.blocks === 'random' && spec.block !== undefined;
  if (isDrawn && runs.some((run) => run.block !== runs[0]!.block))
    said.push({
      kind: 'not-modelled',
      says: `The model of ${response.name} takes each ${spec.block} as a shift of its own, not as drawn: it speaks of these ${spec.block}s and says nothing of others.`,
    });
  return said;
}
