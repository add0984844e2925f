import { significantFigures, withUnit } from '@strandwise/report';
import type { PagedResponse } from './paged-study.ts';
import type { DrawnFactor, Plane } from './plane.ts';
import { capital } from './sentence.ts';
import { settingText } from './setting.ts';

/**
 * A map's answer: where the response is best on it, and whether that is a bottom (or a top) or only
 * the end of what was run.
 */
export function mapCaption(
  values: readonly number[],
  { x, y, room }: Plane,
  steps: number,
  { name, unit, response }: PagedResponse,
): string {
  const aim = response.goal?.aim ?? 'smallest';
  const target = response.goal?.target;
  const cost = (value: number): number =>
    aim === 'largest'
      ? -value
      : aim === 'target' && target !== undefined
        ? Math.abs(value - target)
        : value;
  let best = -1;
  for (let k = 0; k < values.length; k++) {
    if (room[k]! < 0) continue;
    if (best < 0 || cost(values[k]!) < cost(values[best]!)) best = k;
  }
  if (best < 0) return `No setting of ${x.factor.name} and ${y.factor.name} is allowed here`;
  const places = [place(best % steps, steps, x), place(Math.floor(best / steps), steps, y)];
  const head =
    aim === 'target'
      ? `${capital(name)} is closest to its target`
      : `${aim === 'smallest' ? 'Lowest' : 'Highest'} ${name}`;
  const value = withUnit(significantFigures(values[best]!, 2), unit);
  const inside = places.filter(({ isEnd }) => !isEnd);
  const ends = places.filter(({ isEnd }) => isEnd);
  const where = (each: readonly { says: string }[]): string =>
    each.map(({ says }) => says).join(' and ');
  if (ends.length === 0) return `${head}, ${value}: near ${where(inside)}`;
  if (inside.length === 0) return `${head}, ${value}: at the end of what was run, ${where(ends)}`;
  return `${head}, ${value}: near ${where(inside)}, at the end of what was run in ${ends[0]!.factor}, ${ends[0]!.setting}`;
}

function place(step: number, steps: number, { factor, low, high }: DrawnFactor) {
  const setting = settingText(low + ((high - low) * step) / (steps - 1), factor);
  return {
    factor: factor.name,
    setting,
    says: `${factor.name} ${setting}`,
    isEnd: step === 0 || step === steps - 1,
  };
}
