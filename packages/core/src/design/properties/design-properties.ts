import { intercept, type Model, modelTerms, type Powers, termKey } from '../../term/term.ts';
import type { VarianceRatios } from '../correlated-plots.ts';
import type { Design } from '../design.ts';
import { type AliasMatrix, aliasMatrix } from './alias-matrix.ts';
import { type CannotTell, cannotTell } from './cannot-tell.ts';
import { type DfBudget, dfBudget } from './degrees-of-freedom.ts';
import { designInformation } from './design-information.ts';
import { type Efficiencies, efficiencies } from './efficiency.ts';
import { designLeverages } from './leverage.ts';
import { type LostCell, lostCells, worstLostCell } from './lost-cell.ts';
import {
  type FractionOfRegion,
  fractionOfRegion,
  type PredictionSlice,
  predictionSlices,
} from './prediction-curve.ts';
import {
  type AverageVariance,
  averagePredictionVariance,
  type PredictionRegion,
} from './prediction-variance.ts';
import { correlatedPairs, type TermPair } from './term-correlation.ts';
import { type StatedEffect, type TermPrecision, termPrecisions } from './term-precision.ts';

/** What a design will be able to tell about a model, before it is run. */
export interface DesignProperties {
  readonly runs: number;
  /** The assumption behind every number below: σ² of plots over σ² of a cell. */
  readonly varianceRatios: VarianceRatios;
  readonly effect: StatedEffect;
  readonly terms: readonly TermPrecision[];
  readonly df: DfBudget;
  readonly efficiencies: Efficiencies;
  readonly averageVariance: AverageVariance;
  readonly leverages: Float64Array;
  /** Pairs of terms correlated by 0.3 or more. */
  readonly correlatedPairs: readonly TermPair[];
  readonly aliases: AliasMatrix;
  readonly fractionOfRegion: FractionOfRegion;
  readonly slices: readonly PredictionSlice[];
  readonly lostCells: readonly LostCell[];
  readonly worstLostCell: LostCell | undefined;
  readonly cannotTell: readonly CannotTell[];
}

export interface PropertyOptions extends PredictionRegion {
  readonly model: Model;
  /** A coefficient of 1 in noise of 1 at a risk of 0.05 when left out. */
  readonly effect?: StatedEffect;
  /** 1 for each tier of plots the design has when left out, 0 without plots. */
  readonly varianceRatios?: VarianceRatios;
  /** Terms whose confusion with the model's is looked at; main effects, interactions, squares when left out. */
  readonly leftOut?: readonly Powers[];
}

/**
 * All properties of a design for a model.
 *
 * @source ISO 3534-3:2013, clause 3 (terms); single properties cite their own
 */
export function designProperties(design: Design, options: PropertyOptions): DesignProperties {
  const { model, effect = { coefficient: 1, sigma: 1, alpha: 0.05 } } = options;
  const varianceRatios = options.varianceRatios ?? usualRatios(design);
  const region: PredictionRegion = {
    ...(options.constraints && { constraints: options.constraints }),
    ...(options.forbidden && { forbidden: options.forbidden }),
  };
  const { factors, runs } = design;
  const terms = modelTerms(model, factors);
  const information = designInformation({ factors, terms, runs, varianceRatios });
  const df = dfBudget(information);
  const inModel = new Set([...terms, intercept].map(termKey));
  const leftOut = (options.leftOut ?? modelTerms('quadratic', factors)).filter(
    (powers) => !inModel.has(termKey(powers)),
  );
  const aliases = aliasMatrix(information, leftOut);
  const pairs = correlatedPairs(information);
  const lost = lostCells(information, region);
  return {
    runs: runs.length,
    varianceRatios,
    effect,
    terms: termPrecisions(information, df, effect),
    df,
    efficiencies: efficiencies(information, region),
    averageVariance: averagePredictionVariance(information, region),
    leverages: designLeverages(information),
    correlatedPairs: pairs,
    aliases,
    fractionOfRegion: fractionOfRegion(information, region),
    slices: predictionSlices(information, region),
    lostCells: lost,
    worstLostCell: worstLostCell(lost),
    cannotTell: cannotTell(information, { budget: df, aliases, pairs, lost }),
  };
}

function usualRatios({ runs }: Design): VarianceRatios {
  return [
    runs.some(({ wholePlot }) => wholePlot !== null) ? 1 : 0,
    runs.some(({ subWholePlot }) => subWholePlot !== null) ? 1 : 0,
  ];
}
