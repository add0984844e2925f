import type { TransferVerdict } from '@strandwise/core';
import { wrapped } from '../terminal/line.ts';
import { percent } from '../terminal/number.ts';
import type { Theme } from '../theme.ts';

/** A verdict on another lot or line: what to do first, then what it rests on. */
export function transferLines(
  verdict: TransferVerdict,
  { theme, columns }: { readonly theme: Theme; readonly columns: number },
): string[] {
  const room = Math.min(columns, 100);
  const role =
    verdict.kind === 're-qualify' ? 'danger' : verdict.kind === 'recipe holds' ? 'good' : 'warning';
  const settings =
    verdict.kind === 'recipe holds' || verdict.kind === 'shift'
      ? [
          `  zones ${verdict.setPoints.zonesCelsius.join(' · ')} °C    screw ${verdict.setPoints.screwRpm} rpm    fan ${verdict.setPoints.fanPercent} %`,
        ]
      : [];
  return [
    theme.paint(role, verdict.kind.toUpperCase()),
    wrapped(verdict.says, room, 2).join('\n'),
    ...settings,
    '',
    ...verdict.shifts.map(
      ({ name, unit, by, low, high, isSeen }) =>
        `  ${name.padEnd(8)} moved by ${by.toFixed(1)} ${unit} (${low.toFixed(1)} … ${high.toFixed(1)})${isSeen ? '' : ', not told from nothing'}`,
    ),
    ...verdict.offsets.map(({ response, change, isRatio }) =>
      isRatio
        ? `  ${response} as a whole ${percent(change - 1)}`
        : `  ${response} as a whole ${change >= 0 ? '+' : '−'}${Math.abs(change).toPrecision(2)}`,
    ),
    ...(verdict.failed > 0 ? [`  ${verdict.failed} without a strand`] : []),
  ];
}
