import { codedPoint, type FailureDirection, pointOf, settingsOf } from '@strandwise/core';
import type { Role, Theme } from '../../theme.ts';
import type { AnalyseFacts, SurfaceView } from './screen.ts';

/** What stands on a place of the surface instead of its band. */
export interface SurfaceMark {
  readonly text: string;
  readonly role: Role;
}

/** Pinned settings this close, coded, count as the slice that is shown. */
const NEAR = 0.35;

const failureLetters: Readonly<Record<FailureDirection, string>> = {
  cold: 'C',
  hot: 'H',
  'no feed': 'F',
  blocked: 'B',
  other: 'O',
};

/** Runs, failures and the cross by place (row · width + column); the cross wins, then failures. */
export function surfaceMarks(
  view: SurfaceView,
  { study }: AnalyseFacts,
  size: { readonly width: number; readonly height: number },
  theme: Theme,
): ReadonlyMap<number, SurfaceMark> {
  const { factors, line } = study.opened;
  const marks = new Map<number, SurfaceMark>();
  const ended = study.cells.filter(({ status }) => status === 'done' || status === 'failed');
  const inOrder = [...ended].sort(
    (a, b) => Number(a.status === 'failed') - Number(b.status === 'failed'),
  );
  for (const { status, entered, run, failures } of inOrder) {
    const natural = entered ? pointOf(entered, factors, line) : run.natural;
    const settings = settingsOf(codedPoint(natural, factors), factors);
    const isNear = view.place.every(
      (value, i) => i === view.x || i === view.y || Math.abs(settings[i]! - value) <= NEAR,
    );
    const place = placeOf(settings[view.x]!, settings[view.y]!, size);
    if (status === 'failed') {
      const direction = failures.at(-1)?.direction ?? 'other';
      marks.set(place, { text: failureLetters[direction], role: 'danger' });
    } else if (isNear || !marks.has(place)) {
      const text = isNear ? theme.glyphs.dot : theme.glyphs.openDot;
      marks.set(place, { text, role: 'strong' });
    }
  }
  const cross = placeOf(view.place[view.x]!, view.place[view.y]!, size);
  marks.set(cross, { text: theme.isUnicode ? '╋' : 'X', role: 'changed' });
  return marks;
}

function placeOf(
  x: number,
  y: number,
  { width, height }: { readonly width: number; readonly height: number },
): number {
  const inside = (value: number): number => Math.max(-1, Math.min(1, value));
  const column = Math.round(((inside(x) + 1) / 2) * (width - 1));
  const row = Math.round(((1 - inside(y)) / 2) * (height - 1));
  return row * width + column;
}
