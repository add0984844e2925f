import {
  type Chance,
  chanceAt,
  codedPoint,
  type Predictor,
  pointOf,
  type SetPoints,
  type SurfacePrediction,
  setPointsOf,
  setPointsSame,
  settingsOf,
  studyDefaults,
  surfacePrediction,
  type TradeOff,
  tradeOff,
} from '@strandwise/core';

/** A place on the front as it would be keyed in, with what is expected there. */
export interface TradedSetting {
  readonly setPoints: SetPoints;
  /** In the order of the responses, own units. */
  readonly predictions: readonly SurfacePrediction[];
  /** Null when the runs cannot judge it. */
  readonly chance: Chance | null;
}

/** The front between responses in set points. */
export interface TradedSettings {
  readonly responses: TradeOff['responses'];
  readonly settings: readonly TradedSetting[];
}

/** So many places show the run of a front; more crowd its picture. */
const MOST = 8;
/** Looked at before the best spread ones are kept. */
const LOOKED_AT = 80;

/**
 * The front between spread, bubbles and output, its places rounded to what the controllers take and
 * predicted anew there, so that every number is of settings that can be run. Places whose fitted means
 * break a limit of the product are no choice, and are left out while others leave something to trade.
 *
 * @returns null when fewer than two of these responses were fitted, or differ by more than their doubt
 */
export function tradedSettings(predictor: Predictor, most = MOST): TradedSettings | null {
  const front = tradeOff(predictor, LOOKED_AT);
  if (!front) return null;
  const { factors, line } = predictor.state.opened;
  const keyed: Omit<TradedSetting, 'chance'>[] = [];
  for (const { natural } of front.points) {
    const setPoints = setPointsOf(natural, factors, line, studyDefaults(predictor.state));
    if (keyed.some((each) => setPointsSame(each.setPoints, setPoints))) continue;
    const settings = codedSettings(setPoints, predictor);
    const predictions = front.responses.map(({ name }) =>
      surfacePrediction(predictor.surfaces.find((each) => each.name === name)!, settings),
    );
    keyed.push({ setPoints, predictions });
  }
  const allowed = keyed.filter(({ predictions }) => keepsLimits(predictions, predictor));
  const kept = [allowed, keyed]
    .map((settings) => spreadOut(settings, most))
    .find((settings) => settings.length > 1 && clearResponses(settings) > 1);
  if (!kept) return null;
  return {
    responses: front.responses,
    settings: kept.map((each) => ({
      ...each,
      chance: predictor.draft
        ? chanceAt(predictor, codedSettings(each.setPoints, predictor))
        : null,
    })),
  };
}

function codedSettings(setPoints: SetPoints, { state }: Predictor): Float64Array {
  const { factors, line } = state.opened;
  return settingsOf(codedPoint(pointOf(setPoints, factors, line), factors), factors);
}

/** True when no fitted mean breaks a limit of the product. */
const keepsLimits = (predictions: readonly SurfacePrediction[], { judged }: Predictor): boolean =>
  predictions.every(({ name, mean: { value } }) =>
    judged.every(
      ({ requirement: { response, atMost, atLeast } }) =>
        response !== name || ((atMost ?? value) >= value && (atLeast ?? value) <= value),
    ),
  );

/** How many responses differ over the settings by more than the doubt of a single mean. */
function clearResponses(settings: readonly Pick<TradedSetting, 'predictions'>[]): number {
  return settings[0]!.predictions.filter((_, r) => {
    const means = settings.map(({ predictions }) => predictions[r]!.mean);
    const values = means.map(({ value }) => value);
    const doubts = means.map(({ low, high }) => (low === null || high === null ? 0 : high - low));
    const span = Math.max(...values) - Math.min(...values);
    return span > 1e-9 * Math.abs(values[0]!) && span > Math.min(...doubts) / 2;
  }).length;
}

/** As many as asked, each next one the farthest from those taken, in order along the first response. */
function spreadOut<T extends Pick<TradedSetting, 'predictions'>>(
  settings: readonly T[],
  most: number,
): T[] {
  const scaled = standardised(settings);
  if (settings.length <= most) return [...settings];
  const taken = [0, settings.length - 1];
  while (taken.length < most) {
    let farthest = -1;
    let distance = -1;
    for (const [i, values] of scaled.entries()) {
      const nearest = Math.min(
        ...taken.map((j) => Math.hypot(...values.map((value, r) => value - scaled[j]![r]!))),
      );
      if (nearest > distance) [farthest, distance] = [i, nearest];
    }
    taken.push(farthest);
  }
  return taken.sort((a, b) => a - b).map((i) => settings[i]!);
}

/** Fitted means with the range of each response from 0 to 1. */
function standardised(settings: readonly Pick<TradedSetting, 'predictions'>[]): number[][] {
  const values = settings.map(({ predictions }) => predictions.map(({ mean }) => mean.value));
  const ends = (values[0] ?? []).map((_, r) => {
    const own = values.map((each) => each[r]!);
    const low = Math.min(...own);
    return { low, span: Math.max(...own) - low || 1 };
  });
  return values.map((each) => each.map((value, r) => (value - ends[r]!.low) / ends[r]!.span));
}

/** What the front says in a sentence: between which settings the choice lies. */
export function tradedWords(
  { responses, settings }: TradedSettings,
  value: (name: string, amount: number) => string,
): string {
  const ends = responses.map(({ name }, r) => {
    const means = settings.map(({ predictions }) => predictions[r]!.mean.value);
    return `${name} from ${value(name, Math.min(...means))} to ${value(name, Math.max(...means))}`;
  });
  return `${settings.length} settings, none of which betters another in everything: ${ends.join(', ')}.`;
}
