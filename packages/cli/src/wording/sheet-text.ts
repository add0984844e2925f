import {
  type CellState,
  cautions,
  lastSetPoints,
  type StudyState,
  standingCaution,
  underFlushedCells,
} from '@strandwise/core';
import {
  type RunSheetInput,
  type SheetCell,
  type SheetSetting,
  underFlushedSays,
} from '@strandwise/report';
import { wrapped } from '../terminal/line.ts';

const outcomes = ['good', 'cold', 'hot', 'no feed', 'blocked', 'other'];

/** Cells on paper: those still to do, or all of the plan. */
export function sheetInput(
  state: StudyState,
  { isWhole }: { readonly isWhole: boolean },
): RunSheetInput {
  const { opened, plan, planVersion } = state;
  const queued = state.queue.map((number) => state.cells[number - 1]!);
  const cells = isWhole ? state.cells.filter(({ status }) => status !== 'left out') : queued;
  const { line, grade, product } = opened;
  const from = isWhole ? null : lastSetPoints(state, 0);
  const underFlushed = underFlushedCells(state, cells, from);
  const invented = opened.invented ? ' (invented)' : '';
  const lot = grade.lot === undefined ? '' : `, lot ${grade.lot}`;
  return {
    title: `Run sheet: ${opened.name}${invented}`,
    lines: [
      `${line.name} · ${grade.name}${lot} · target ${product.diameterMm} ± ${product.toleranceMm} mm`,
      `plan ${planVersion}: ${plan?.family ?? ''}, order ${plan?.order ?? ''}, seed ${plan?.seed ?? ''} · ${cells.length} cells, measure ${line.measureMinutes} min each`,
      'date ____________   operator ____________   dried ______ h   in the barrel ____________',
    ],
    settings: settingsOf(state, cells),
    cells: cells.map((cell) => sheetCell(state, cell, underFlushed)),
    blanks: ['set at', 'mean (mm)', 'SD (mm)', 'bubbles', 'metres', 'by'],
    outcomes,
    cautions: [
      ...new Set(
        [standingCaution, ...cautions('before heating', grade), ...cautions('walking', grade)].map(
          ({ says }) => says,
        ),
      ),
    ],
  };
}

function settingsOf(state: StudyState, cells: readonly CellState[]): SheetSetting[] {
  const { line } = state.opened;
  const others = [...new Set(cells.flatMap(({ run }) => Object.keys(run.setPoints?.other ?? {})))];
  return [
    ...line.zones.map((zone, i) => ({
      name: zone.name.startsWith('zone') ? zone.name : `zone ${i + 1} ${zone.name}`,
      unit: '°C',
      decimals: decimalsOf(line.setPointStepCelsius),
    })),
    { name: 'screw', unit: 'rpm', decimals: decimalsOf(line.screw.stepRpm) },
    { name: 'fan', unit: '%', decimals: decimalsOf(line.fan.stepPercent) },
    ...others.map((name) => ({ name, decimals: 2 })),
  ];
}

const decimalsOf = (step: number): number =>
  Math.min(3, (String(Number(step.toPrecision(6))).split('.')[1] ?? '').length);

function sheetCell(
  { opened }: StudyState,
  { cell, run }: CellState,
  underFlushed: ReadonlySet<number>,
): SheetCell {
  const { setPoints, holdSeconds, wholePlot } = run;
  const others = Object.values(setPoints?.other ?? {});
  return {
    runOrder: cell,
    ...(wholePlot === null ? {} : { zoneSetting: wholePlot }),
    setPoints: setPoints
      ? [...setPoints.zonesCelsius, setPoints.screwRpm, setPoints.fanPercent, ...others]
      : opened.line.zones.map(() => ''),
    holdMinutes: holdSeconds === null ? null : holdSeconds / 60,
    ...(underFlushed.has(cell) ? { isUnderFlushed: true } : {}),
  };
}

/** The sheet as plain text, for a line printer or a terminal. */
export function sheetText(sheet: RunSheetInput): string {
  const heads = [
    'cell',
    ...sheet.settings.map(({ name }) => name.replace(/^(zone \d+).*/, '$1')),
    'hold',
    'set at',
    'SD mm',
    'bubbles',
    'ended',
  ];
  const hasMarks = sheet.cells.some(({ isUnderFlushed }) => isUnderFlushed);
  const rows = sheet.cells.map((cell) => [
    String(cell.runOrder),
    ...sheet.settings.map((setting, i) => shownSetting(cell.setPoints[i], setting)),
    `${cell.holdMinutes?.toFixed(0) ?? ''}${cell.isUnderFlushed ? '!' : hasMarks ? ' ' : ''}`,
    '______',
    '______',
    '___ in ___ m',
    '_______',
  ]);
  const widths = heads.map((head, i) =>
    Math.max(head.length, ...rows.map((row) => row[i]!.length)),
  );
  const line = (cells: readonly string[]): string =>
    cells.map((text, i) => text.padStart(widths[i]!)).join(' ');
  return [
    sheet.title,
    ...sheet.lines,
    '',
    line(heads),
    ...sheet.cells.flatMap((cell, i) => {
      const above = sheet.cells[i - 1];
      const isNew = above !== undefined && cell.zoneSetting !== above.zoneSetting;
      return [...(isNew ? [''] : []), line(rows[i]!)];
    }),
    '',
    `hold in minutes; a gap means new zone settings; ended: ${sheet.outcomes.join(', ')}`,
    ...(hasMarks ? wrapped(`! ${underFlushedSays}`, 78) : []),
    '',
    ...sheet.cautions.flatMap((text) => wrapped(`· ${text}`, 78)),
  ].join('\n');
}

const shownSetting = (
  value: number | string | undefined,
  { decimals = 0 }: SheetSetting,
): string => (typeof value === 'number' ? value.toFixed(decimals) : (value ?? ''));
