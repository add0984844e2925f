import {
  isNumeric,
  type Line,
  modelTerms,
  type NumericFactor,
  type StudyState,
  setPointsOf,
  studyDefaults,
  zoneLimits,
} from '@strandwise/core';
import type { PanelControl, PanelModel } from '@strandwise/report';
import type { PagedStudy } from './paged-study.ts';
import { importantPairs } from './plane.ts';
import { factorDecimals } from './setting.ts';

/** How far beyond the studied range a control reaches, as a share of it; the panel says so there. */
const reach = 0.25;

/** The "try settings" panel on the page's own surfaces; null without a recipe to start from. */
export function panelPart(study: PagedStudy): PanelModel | null {
  const { state, recipe, responses, predictor } = study;
  if (!recipe) return null;
  const { factors, line, grade, product } = state.opened;
  const controls = controlsOf(state);
  if (controls.length === 0) return null;
  const map = mapOf(study);
  return {
    factors,
    line,
    grade,
    product: { diameterMm: product.diameterMm },
    start: recipe.setPoints,
    controls,
    limits: predictor.constraints,
    confidence: 0.95,
    responses: responses.flatMap(({ surface, unit }) => {
      if (!surface) return [];
      const { mean: _, row: __, rowInto: ___, ...data } = surface;
      return [{ ...(unit === undefined ? {} : { unit }), surface: data }];
    }),
    requirements: predictor.judged.map(({ requirement }) => requirement),
    ...(predictor.conformance
      ? {
          chance: {
            says: 'Chance that a new set-up conforms',
            strand: predictor.strand.result && {
              result: predictor.strand.result,
              terms: modelTerms('main', factors),
            },
            correlation: predictor.correlation,
            wander: predictor.wander,
            seed: state.opened.seed,
          },
        }
      : {}),
    ...(map ? { map } : {}),
  };
}

function mapOf(study: PagedStudy): PanelModel['map'] | null {
  const shown = study.responses.find(({ surface }) => surface);
  if (!shown?.surface) return null;
  const [pair] = importantPairs(study, shown.surface);
  if (!pair) return null;
  const { factors } = study.state.opened;
  return { response: shown.name, x: factors[pair[0]]!.name, y: factors[pair[1]]!.name };
}

function controlsOf(state: StudyState): PanelControl[] {
  const { factors, line } = state.opened;
  return [
    ...zoneControls(state),
    ...factors.flatMap((factor): PanelControl[] => {
      if (!isNumeric(factor))
        return [
          { name: factor.name, sets: { kind: 'other', name: factor.name }, levels: factor.levels },
        ];
      if (factor.acts === 'screw')
        return [
          {
            name: factor.name,
            sets: { kind: 'screw' },
            unit: 'rpm',
            ...within(factor, line.screw.stepRpm, [line.screw.lowRpm, line.screw.highRpm]),
          },
        ];
      if (factor.acts === 'fan')
        return [
          {
            name: factor.name,
            sets: { kind: 'fan' },
            unit: '%',
            ...within(factor, line.fan.stepPercent, [0, 100]),
          },
        ];
      if (factor.acts !== undefined && factor.acts !== 'other') return [];
      const step = factor.step ?? 10 ** -factorDecimals(factor);
      return [
        {
          name: factor.name,
          sets: { kind: 'other', name: factor.name },
          ...(factor.unit === undefined ? {} : { unit: factor.unit }),
          ...within(factor, step, [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY]),
        },
      ];
    }),
  ];
}

/** A control's ends on multiples of its step: the studied range and a little more, inside the hard limits. */
function within(
  { low, high }: Pick<NumericFactor, 'low' | 'high'>,
  step: number,
  [least, most]: readonly [number, number],
): { low: number; high: number; step: number } {
  const room = reach * (high - low);
  const clean = (value: number): number => Number(value.toFixed(6));
  return {
    low: clean(Math.ceil(Math.max(least, low - room) / step - 1e-9) * step),
    high: clean(Math.floor(Math.min(most, high + room) / step + 1e-9) * step),
    step,
  };
}

/** A slider for each zone that some factor moves, over what the factors' corners made of it. */
function zoneControls(state: StudyState): PanelControl[] {
  const { line, grade } = state.opened;
  const ranges = zoneRanges(state);
  return line.zones.flatMap(({ name }, zone): PanelControl[] => {
    const { low, high } = ranges[zone]!;
    if (high - low < 1e-9) return [];
    const hard = zoneLimits(zone, line, grade);
    return [
      {
        name,
        sets: { kind: 'zone', zone },
        unit: '°C',
        ...within({ low, high }, line.setPointStepCelsius, [hard.low, hard.high]),
      },
    ];
  });
}

/** Coldest and hottest set point of each zone over the corners of the studied ranges. */
function zoneRanges(state: StudyState): { low: number; high: number }[] {
  const { factors, line } = state.opened;
  const numeric = factors.filter(isNumeric);
  const defaults = studyDefaults(state);
  const ranges = emptyRanges(line);
  for (let corner = 0; corner < 2 ** numeric.length; corner++) {
    const natural = Object.fromEntries(
      factors.map((factor) => {
        if (!isNumeric(factor)) return [factor.name, factor.levels[0]!];
        const bit = (corner >> numeric.indexOf(factor)) & 1;
        return [factor.name, bit === 1 ? factor.high : factor.low];
      }),
    );
    for (const [zone, celsius] of setPointsOf(
      natural,
      factors,
      line,
      defaults,
    ).zonesCelsius.entries()) {
      ranges[zone]!.low = Math.min(ranges[zone]!.low, celsius);
      ranges[zone]!.high = Math.max(ranges[zone]!.high, celsius);
    }
  }
  return ranges;
}

const emptyRanges = ({ zones }: Line): { low: number; high: number }[] =>
  zones.map(() => ({ low: Number.POSITIVE_INFINITY, high: Number.NEGATIVE_INFINITY }));
