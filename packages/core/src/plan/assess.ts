import type { Design, DesignRun } from '../design/design.ts';
import { type DesignProperties, designProperties } from '../design/properties/design-properties.ts';
import { coefficientPower, type TermPrecision } from '../design/properties/term-precision.ts';
import { naturalValue } from '../factor/coding.ts';
import { type Factor, isNumeric } from '../factor/factor.ts';
import type { Hold } from '../schedule/hold.ts';
import { type Model, type Powers, termName } from '../term/term.ts';
import { askedCriteria } from './asked-criteria.ts';
import { assessedModel, droppedTerms } from './assessed-model.ts';
import { driftWords, droppedWords, noiseWords } from './doubt.ts';
import { fractionReport } from './fraction-report.ts';
import { namedPowers } from './named-power.ts';
import type { Plan } from './plan.ts';
import type { PlannedTerm, PlanProperties } from './plan-properties.ts';
import { type StatedChange, statedEffect, usualChange } from './stated-change.ts';

const HOURS_A_SHIFT = 8;

/** A plan beside what it will be able to tell. */
export interface AssessedPlan {
  readonly plan: Plan;
  readonly properties: PlanProperties;
}

/**
 * Everything a plan says of itself before it is run, on the settings after rounding.
 *
 * Where every cell is set anew, each carries the variance of a reset as well as its own, so its
 * error is √(1 + ratio) of the SD between cells of one setting; plans with and without zone settings
 * can then be compared.
 *
 * @param change - what is worth finding; usual values when left out
 * @param judgedBy - the model to assess, when it is not to be the largest that can be told
 */
export function planProperties(
  plan: Plan,
  change: StatedChange = usualChange(plan.request.factors),
  judgedBy?: Model,
): PlanProperties {
  const { request, design, ordered, constraints } = plan;
  const { model } = request;
  const walked = walkedDesign(plan);
  const assessed = judgedBy ?? assessedModel(design, model);
  const hasPlots = walked.runs.some(({ wholePlot }) => wholePlot !== null);
  const hasSubPlots = walked.runs.some(({ subWholePlot }) => subWholePlot !== null);
  const ratios = [hasPlots ? change.plotRatio : 0, hasSubPlots ? change.subPlotRatio : 0] as const;
  const seen = designProperties(walked, { model: assessed, constraints, varianceRatios: ratios });
  const resetSpread = Math.sqrt(
    1 + (hasPlots ? 0 : change.plotRatio) + (hasSubPlots ? 0 : change.subPlotRatio),
  );
  const dropped = droppedTerms(model, assessed, design);
  const terms = seen.terms.map((term) => plannedTerm(term, change, resetSpread));
  return {
    ...costs(plan, walked),
    trends: [...ordered.trends],
    largestTrend: ordered.largestTrend,
    underFlushed: [...ordered.underFlushed],
    falseResets: [...ordered.falseResets],
    change,
    model,
    assessed,
    terms: [...terms, ...dropped.map(untold)],
    namedFactors: namedPowers(walked, assessed, {
      change,
      varianceRatios: ratios,
      spread: resetSpread,
    }),
    ...predictions(seen, resetSpread, design.factors),
    asked: askedCriteria(walked, model, { constraints }),
    ...twoLevelPart(walked),
    ...structure(seen),
    cannotTell: [
      ...droppedWords(dropped, assessed, plan),
      ...seen.cannotTell.map(({ kind, words }) => ({ kind, words })),
      ...driftWords(plan),
      ...noiseWords(terms, change),
    ],
    notes: [...design.notes, ...ordered.notes],
  };
}

function plannedTerm(term: TermPrecision, change: StatedChange, spread: number): PlannedTerm {
  const { name, powers, varianceInflation, stratum: judgedBetween, df } = term;
  const standardError = term.standardError === null ? null : term.standardError * spread;
  const effect = statedEffect(powers, change);
  const power = standardError === null ? null : coefficientPower({ ...effect, standardError, df });
  const copy = { ...powers };
  return { name, powers: copy, standardError, varianceInflation, judgedBetween, df, power };
}

/** Assesses a plan and keeps both. */
export const assessedPlan = (plan: Plan, change?: StatedChange): AssessedPlan => ({
  plan,
  properties: planProperties(plan, change),
});

/** The design as it is walked: rounded settings, in run order, with the plots the order makes. */
export function walkedDesign({ design, ordered }: Plan): Design {
  const runs = ordered.runs.map(
    ({ coded, kind, block, wholePlot, subWholePlot }): DesignRun => ({
      coded,
      kind,
      block,
      wholePlot,
      subWholePlot,
    }),
  );
  return { ...design, runs };
}

function costs({ ordered }: Plan, { runs }: Design) {
  const plots = new Set(runs.flatMap(({ wholePlot }) => wholePlot ?? []));
  const { holds, hours, grams, spools } = ordered;
  const hasLine = hours !== null;
  const isWait = ({ parts }: Hold): boolean => parts.thermal > 0 || parts.flush > 0;
  return {
    cells: runs.length,
    zoneSettings: plots.size === 0 ? null : plots.size,
    holds: hasLine ? holds.filter(isWait).length : null,
    hours,
    holdHours: hasLine ? holds.reduce((sum, { seconds }) => sum + seconds, 0) / 3600 : null,
    grams,
    spools,
    shifts: hours === null ? null : Math.ceil(hours / HOURS_A_SHIFT - 1e-9),
  };
}

function twoLevelPart(design: Design) {
  const fraction = fractionReport(design);
  const axial = design.runs.filter(({ kind }) => kind === 'axial');
  const distances = axial.flatMap(({ coded }) =>
    Object.values(coded).map((value) => Math.abs(Number(value))),
  );
  return {
    resolution: fraction?.resolution ?? null,
    wordLengthPattern: fraction?.wordLengthPattern ?? null,
    fraction,
    axialDistance: distances.length === 0 ? null : Math.max(...distances),
  };
}

const untold = (powers: Powers): PlannedTerm => ({
  name: termName(powers),
  powers: { ...powers },
  standardError: null,
  varianceInflation: null,
  judgedBetween: 'cells',
  df: 0,
  power: null,
});

function predictions(seen: DesignProperties, spread: number, factors: readonly Factor[]) {
  const { fractionOfRegion: curve, slices, efficiencies, averageVariance } = seen;
  return {
    efficiencies: { ...efficiencies },
    averageError: Math.sqrt(averageVariance.value) * spread,
    fractionOfRegion: {
      fractions: [...curve.fractions],
      standardErrors: [...curve.standardErrors].map((error) => error * spread),
    },
    slices: slices.map(({ factor: name, settings, standardErrors }) => {
      const factor = factors.find((candidate) => candidate.name === name)!;
      return {
        factor: name,
        settings: settings.map((setting) =>
          isNumeric(factor)
            ? Number(naturalValue(Number(setting), factor).toPrecision(12))
            : String(setting),
        ),
        standardErrors: standardErrors.map((error) => (error === null ? null : error * spread)),
      };
    }),
  };
}

function structure(seen: DesignProperties) {
  const { df, leverages, correlatedPairs, aliases, worstLostCell } = seen;
  const shares = aliases.estimated.flatMap((term, i) =>
    aliases.leftOut.flatMap((leftOut, j) => {
      const share = aliases.weights.data[i * aliases.weights.cols + j]!;
      return Math.abs(share) < 0.05 ? [] : [{ term, leftOut, share }];
    }),
  );
  return {
    df: df.strata.map(({ name, units, model, error, lackOfFit, pureError }) => ({
      name,
      units,
      model,
      error,
      lackOfFit,
      pureError,
    })),
    correlations: correlatedPairs.map((pair) => ({ ...pair })),
    aliases: shares,
    leverages: [...leverages],
    worstLoss: !worstLostCell
      ? null
      : worstLostCell.kind === 'grows'
        ? { kind: 'grows' as const, runOrder: worstLostCell.run, growth: worstLostCell.growth }
        : {
            kind: 'loses-terms' as const,
            runOrder: worstLostCell.run,
            terms: [...worstLostCell.terms],
          },
  };
}
