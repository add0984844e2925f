import type { Factor, SurfaceReport } from '@strandwise/core';
import { type Line, line } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';
import { told } from './told.ts';

type Path = SurfaceReport['paths'][number];
type Step = Path['steps'][number];

/** What a surface looks like beyond its terms: shares, where the level point may be, ways to better. */
export function surfaceLines(
  report: SurfaceReport,
  factors: readonly Factor[],
  { columns, unit = '' }: { readonly columns: number; readonly unit?: string },
): Line[] {
  const { region, paths } = report;
  return [
    line('   the surface over the region', 'quiet'),
    ...told(sharesWords(report), columns, { indent: 5 }),
    ...told([region.says, stretchWords(region)].join(' ').trim(), columns, { indent: 5 }),
    ...paths.flatMap((path) => pathLines(path, factors, unit, columns)),
  ];
}

const percent = (share: number): string => `${Math.round(100 * share)} %`;

/** "Share in what it does, alone and with others: screw 62 % (41 … 80; alone 40), …". */
function sharesWords({ shares, sharesSay }: SurfaceReport): string {
  const counted = shares.filter(({ total }) => total >= 0.005);
  if (counted.length === 0) return sharesSay;
  const parts = counted.map(({ factor, alone, total, low, high }) => {
    const range =
      low === null || high === null ? '' : `${Math.round(100 * low)} … ${Math.round(100 * high)}; `;
    return `${factor} ${percent(total)} (${range}alone ${Math.round(100 * alone)})`;
  });
  return `Share in all that it does over the region, with others as well: ${parts.join(', ')}.`;
}

function stretchWords({ kind, confidence, stretches }: SurfaceReport['region']): string {
  const bounded = stretches.filter(({ isOpenBelow, isOpenAbove }) => !(isOpenBelow && isOpenAbove));
  if (bounded.length === 0) return '';
  const parts = bounded.map(({ factor, unit, low, high, isOpenBelow, isOpenAbove }) => {
    const end = unit ? ` ${unit}` : '';
    if (isOpenBelow) return `${factor} at most ${figures(high)}${end}`;
    if (isOpenAbove) return `${factor} at least ${figures(low)}${end}`;
    return `${factor} ${figures(low)} … ${figures(high)}${end}`;
  });
  const open = stretches.length > bounded.length ? '; the others may be anywhere' : '';
  const what = kind === 'region' ? 'level point' : 'best place';
  return `With ${percent(confidence ?? 0.95)} confidence the ${what} has ${parts.join(', ')}${open}.`;
}

/** A few places of a path, ends included: those within the studied range, and the first beyond. */
function pathLines(
  { kind, says, steps }: Path,
  factors: readonly Factor[],
  unit: string,
  columns: number,
) {
  const beyond = steps.findIndex(({ isOutside, broken }) => isOutside || broken !== null);
  const usable = beyond < 0 ? steps : steps.slice(0, beyond + 1);
  const parts = kind === 'ridge' ? 4 : 2;
  const every = Math.max(1, Math.ceil((usable.length - 1) / parts));
  const shown = usable.filter((_, i) => i % every === 0 || i === usable.length - 1);
  const name = kind === 'ridge' ? 'Along the ridge' : 'Straight on by the slopes';
  return [
    ...told(`${name}. ${says}`, columns, { indent: 5 }),
    ...shown.flatMap((step) => told(stepWords(step, factors, unit), columns, { indent: 7 })),
  ];
}

function stepWords(step: Step, factors: readonly Factor[], unit: string): string {
  const { distance, mean, low, high, isOutside, broken } = step;
  const interval = low === null || high === null ? '' : ` (${figures(low)} … ${figures(high)})`;
  const end = broken ? `, which ${broken}` : isOutside ? ', beyond what was studied' : '';
  const value = `${figures(mean)}${interval}${unit ? ` ${unit}` : ''}`;
  return `${distance.toFixed(2)} from the centre: ${placeWords(step, factors)}: ${value}${end}`;
}

function placeWords({ natural, setPoints }: Step, factors: readonly Factor[]): string {
  const { zonesCelsius, screwRpm, fanPercent } = (setPoints ?? {}) as {
    zonesCelsius?: readonly number[];
    screwRpm?: number;
    fanPercent?: number;
  };
  if (zonesCelsius)
    return [
      `zones ${zonesCelsius.join(' · ')} °C`,
      screwRpm === undefined ? [] : `screw ${figures(screwRpm)} rpm`,
      fanPercent === undefined ? [] : `fan ${figures(fanPercent)} %`,
    ]
      .flat()
      .join(', ');
  return factors
    .map((factor) => {
      const value = natural[factor.name]!;
      const unit = 'unit' in factor && factor.unit ? ` ${factor.unit}` : '';
      return `${factor.name} ${typeof value === 'number' ? figures(value) : value}${unit}`;
    })
    .join(', ');
}
