import {
  backOnScale,
  brokenConstraints,
  type Factor,
  isNumeric,
  naturalValue,
  pointFromSettings,
  type ResponseSurface,
  surfacePrediction,
} from '@strandwise/core';
import { type Line, line, span } from '../../terminal/line.ts';
import { decimalsFor, figures, withinDoubt } from '../../terminal/number.ts';
import { axisWords } from '../../terminal/scatter.ts';
import type { Role, Theme } from '../../theme.ts';
import { told } from '../../wording/told.ts';
import type { ScreenSize } from '../frame.ts';
import type { AnalyseFacts, AnalyseScreen, SurfaceView } from './screen.ts';
import { pinnedFactors, surfaceView } from './state.ts';
import { surfaceMarks } from './surface-marks.ts';

const AXIS = 9;
const BANDS = 10;
const bandRoles: readonly Role[] = ['lowest', 'low', 'middle', 'high', 'highest'];

/**
 * A response over two factors in ten bands, each a digit, so that it is read without colour; runs
 * and failures where they were, and what is expected where the cross stands.
 */
export function surfaceLines(
  screen: AnalyseScreen,
  facts: AnalyseFacts,
  { columns, rows }: ScreenSize,
  theme: Theme,
): Line[] {
  const fit = facts.result.responses[screen.response]!;
  const surface = facts.predictor.surfaces.find(({ name }) => name === fit.name);
  const { factors } = facts.study.opened;
  if (!surface || factors.filter(isNumeric).length < 2)
    return [
      line(),
      ...told('There is no surface to draw of this response over two factors.', columns),
    ];
  const view = surfaceView(screen, facts);
  const below = [
    ...placeLines(surface, view, facts, columns),
    ...pinnedLines(view, facts, columns, theme),
  ];
  const width = Math.max(15, Math.min(71, columns - AXIS - 1));
  const probe = bandGrid(surface, view, facts, { width: 15, height: 5 });
  const legend = legendLines(probe, surface, facts, columns, theme).length;
  const height = Math.max(5, Math.min(25, rows - below.length - legend - 3));
  const grid = bandGrid(surface, view, facts, { width, height });
  return [
    line(`   ${axisName(factors[view.y]!)}`, 'quiet'),
    ...gridLines(grid, view, facts, { width, height }, theme),
    line(`${' '.repeat(AXIS - 1)}${theme.glyphs.rule.repeat(width + 1)}`, 'quiet'),
    line(`${' '.repeat(AXIS)}${xWords(factors[view.x]!, width)}`, 'quiet'),
    ...legendLines(grid, surface, facts, columns, theme),
    ...below,
  ];
}

const axisName = (factor: Factor): string =>
  `${factor.name}${isNumeric(factor) && factor.unit ? `, ${factor.unit}` : ''}`;

function xWords(factor: Factor, width: number): string {
  if (!isNumeric(factor)) return factor.name;
  return axisWords(figures(factor.low), axisName(factor), figures(factor.high), width);
}

interface BandGrid {
  /** Band of each place by rows from the top; −1 where limits forbid it. */
  readonly bands: Int8Array;
  /** Of the surface over the grid, on its scale. */
  readonly low: number;
  readonly high: number;
}

interface GridSize {
  readonly width: number;
  readonly height: number;
}

function bandGrid(
  surface: ResponseSurface,
  view: SurfaceView,
  { study, predictor }: AnalyseFacts,
  { width, height }: GridSize,
): BandGrid {
  const { factors } = study.opened;
  const values = new Float64Array(width * height).fill(Number.NaN);
  const settings = Float64Array.from(view.place);
  for (let row = 0; row < height; row++) {
    settings[view.y] = 1 - (2 * row) / (height - 1);
    for (let column = 0; column < width; column++) {
      settings[view.x] = -1 + (2 * column) / (width - 1);
      const point = pointFromSettings(settings, factors);
      if (brokenConstraints(point, predictor.constraints).length === 0)
        values[row * width + column] = surface.mean(settings);
    }
  }
  const known = values.filter((value) => !Number.isNaN(value));
  const low = known.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const high = known.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const bands = Int8Array.from(values, (value) => {
    if (Number.isNaN(value)) return -1;
    if (!(high > low)) return 0;
    return Math.min(BANDS - 1, Math.floor((BANDS * (value - low)) / (high - low)));
  });
  return { bands, low, high };
}

function gridLines(
  { bands }: BandGrid,
  view: SurfaceView,
  facts: AnalyseFacts,
  size: GridSize,
  theme: Theme,
): Line[] {
  const { width, height } = size;
  const marks = surfaceMarks(view, facts, size, theme);
  const factor = facts.study.opened.factors[view.y]!;
  const label = (row: number): string => {
    if (!isNumeric(factor)) return '';
    if (row === 0) return figures(factor.high);
    return row === height - 1 ? figures(factor.low) : '';
  };
  return Array.from({ length: height }, (_, row) => {
    const spans = [
      span(`${label(row).padStart(AXIS - 2)} ${theme.isUnicode ? '│' : '|'}`, 'quiet'),
    ];
    for (let column = 0; column < width; column++) {
      const at = row * width + column;
      const band = bands[at]!;
      const mark = marks.get(at);
      const text = mark?.text ?? (band < 0 ? ' ' : String(band));
      const role = mark?.role ?? (band < 0 ? 'plain' : bandRoles[Math.floor(band / 2)]!);
      const last = spans.at(-1)!;
      if (spans.length > 1 && last.role === role)
        spans[spans.length - 1] = span(last.text + text, role);
      else spans.push(span(text, role));
    }
    return spans;
  });
}

function legendLines(
  { low, high, bands }: BandGrid,
  surface: ResponseSurface,
  { study }: AnalyseFacts,
  columns: number,
  theme: Theme,
): Line[] {
  const response = study.opened.responses.find(({ name }) => name === surface.name);
  const unit = response?.kind === 'count' ? ' per m' : response?.unit ? ` ${response.unit}` : '';
  const at = (share: number): string => figures(backOnScale(surface, low + share * (high - low)));
  const { dot, openDot } = theme.glyphs;
  const failures = study.cells.some(({ status }) => status === 'failed')
    ? '; letters: failed cold, hot, no feed, blocked, other'
    : '';
  const limits = bands.includes(-1) ? '; blank: not allowed' : '';
  const scale = bands.every((band) => band < 0)
    ? 'no setting here is allowed'
    : `0 ${at(0)} … 5 ${at(0.5)} … 9 ${at(1)}${unit}`;
  return told(
    `${scale}; ${dot} run near this slice, ${openDot} farther off${failures}${limits}`,
    columns,
    { role: 'quiet' },
  );
}

/** What is expected where the cross stands. */
function placeLines(
  surface: ResponseSurface,
  view: SurfaceView,
  { study, predictor }: AnalyseFacts,
  columns: number,
): Line[] {
  const { factors, responses } = study.opened;
  const settings = Float64Array.from(view.place);
  const { mean, next } = surfacePrediction(surface, settings);
  const response = responses.find(({ name }) => name === surface.name);
  const unit = response?.kind === 'count' ? ' per m' : response?.unit ? ` ${response.unit}` : '';
  const where = [view.x, view.y].map((i) => settingText(factors[i]!, view.place[i]!)).join(', ');
  const spread =
    next.low === null || next.high === null
      ? ''
      : `, one new set-up ${next.low.toFixed(decimalsFor(next.high - next.low))} … ${next.high.toFixed(decimalsFor(next.high - next.low))}`;
  const chance = predictor.draft?.at(settings).probability;
  const conforms = chance === undefined ? '' : `; chance to conform ${chance.toFixed(2)}`;
  return told(
    `${where}: ${surface.name} ${withinDoubt(mean.value, mean.low, mean.high)}${unit}${spread}${conforms}`,
    columns,
    { role: 'strong' },
  );
}

function pinnedLines(
  view: SurfaceView,
  facts: AnalyseFacts,
  columns: number,
  theme: Theme,
): Line[] {
  const { factors } = facts.study.opened;
  const pinned = pinnedFactors(view, facts).map((i) => {
    const text = settingText(factors[i]!, view.place[i]!);
    return i === view.pinned ? `[${text}]` : text;
  });
  return pinned.length === 0
    ? []
    : told(`pinned: ${pinned.join(` ${theme.glyphs.wait} `)}`, columns);
}

/** A coded place of one factor in its own unit. */
export function settingText(factor: Factor, coded: number): string {
  if (!isNumeric(factor)) return `${factor.name} ${factor.levels[coded] ?? ''}`;
  const value = naturalValue(coded, factor);
  const decimals = decimalsFor((factor.high - factor.low) / 2);
  return `${factor.name} ${value.toFixed(decimals)}${factor.unit ? ` ${factor.unit}` : ''}`;
}
