import { type VarianceShare, varianceShares } from '@strandwise/core';
import { type Line, line, span } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import type { AnalyseFacts } from './screen.ts';

const BAR = 24;

/**
 * Which factor has which share in all that a response does over the region: filled what it explains
 * alone, drawn on what it does with others as well.
 */
export function shareLines(
  response: string,
  { study, predictor }: Pick<AnalyseFacts, 'study' | 'predictor'>,
  columns: number,
  theme: Theme,
): Line[] {
  const { factors, seed } = study.opened;
  const surface = predictor.surfaces.find(({ name }) => name === response);
  if (!surface || factors.length < 2) return [];
  const { shares, surfaceSd } = varianceShares({
    surface,
    factors,
    constraints: predictor.constraints,
    seed,
  });
  const told = shares.filter(({ reading }) => reading !== 'not in the model');
  if (surfaceSd === 0 || told.length === 0) return [];
  const name = Math.max(...told.map(({ factor }) => [...factor].length));
  const [full, open] = theme.isUnicode ? ['█', '░'] : ['#', '.'];
  const bar = Math.max(8, Math.min(BAR, columns - name - 34));
  return [
    line(
      columns < 60
        ? `   share in what it does: ${full} alone`
        : `   share in all that it does: ${full} alone, ${open} with others as well; with 95 %`,
      'quiet',
    ),
    ...told.map((share): Line => {
      const alone = Math.round(bar * Math.min(share.alone, share.total));
      const whole = Math.max(alone, Math.round(bar * Math.min(1, share.total)));
      const drawn = full.repeat(alone) + open.repeat(whole - alone);
      const isClear = share.reading === 'matters' || share.reading === 'matters only with others';
      return [
        span(`   ${share.factor.padEnd(name)}  `, isClear ? 'strong' : 'plain'),
        span(`${drawn.padEnd(bar)}  ${percentText(share.total).padStart(5)}`),
        span(intervalText(share), 'quiet'),
        span(columns < 76 ? '' : `   ${readingText(share)}`, 'quiet'),
      ];
    }),
  ];
}

const percentText = (share: number): string => `${Math.round(100 * share)} %`;

const intervalText = ({ low, high }: VarianceShare): string =>
  low === null || high === null
    ? ''
    : `  ${`${Math.round(100 * low)} … ${Math.round(100 * high)}`.padEnd(9)}`;

/** What the bar does not show by itself. */
const readingText = ({ reading }: VarianceShare): string =>
  reading === 'matters' || reading === 'not in the model' ? '' : reading;
