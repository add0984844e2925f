import {
  type AssessedDesign,
  designInformation,
  dfBudget,
  type Factor,
  modelTerms,
  termPrecisions,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { dataJson, expectedOf } from './dataset.ts';

type Row = readonly (string | number)[];
interface Fixed {
  readonly se: number;
  readonly kr_df: number;
}

const effect = { coefficient: 1, sigma: 1, alpha: 0.05 };
const TOLERANCE = 1e-6; // the variance components are REML optima of limited digits

function expectPrecision(design: AssessedDesign, known: readonly Fixed[], residual: number): void {
  const information = designInformation(design);
  const precisions = termPrecisions(information, dfBudget(information), effect);
  expect(precisions.length).toBe(known.length);
  for (const [t, { se, kr_df }] of known.entries()) {
    const { name, standardError, df } = precisions[t]!;
    const got = standardError! * Math.sqrt(residual);
    expect(Math.abs(got / se - 1), `${name}: got ${got}, expected ${se}`).toBeLessThan(TOLERANCE);
    expect(df, name).toBe(Math.round(kr_df));
  }
}

describe('precision of published split plots (lme4 and pbkrtest)', () => {
  it('matches heats and coatings of Box (1996)', () => {
    const { reml_full_factorial: known, strata } = expectedOf('box-corrosion-split-plot');
    const rows: Row[] = dataJson('box-corrosion-split-plot').rows;
    const factors: Factor[] = [
      { name: 'heat', levels: ['360', '370', '380'], changes: 'hard' },
      { name: 'coating', levels: ['C1', 'C2', 'C3', 'C4'], changes: 'easy' },
    ];
    const { run: whole, Residual: residual } = known.variance_components;
    const design: AssessedDesign = {
      factors,
      terms: modelTerms('interactions', factors),
      runs: rows.map(([run, heat, coating]) => ({
        coded: { heat: String(heat), coating: String(coating) },
        block: 1,
        wholePlot: Number(run),
        subWholePlot: null,
      })),
      varianceRatios: [whole / residual, 0],
    };
    const f = known.fixed;
    const pairs = [1, 2].flatMap((t) => [1, 2, 3].map((c) => f[`tempF${t}:coating${c}`]));
    const mains = ['tempF1', 'tempF2', 'coating1', 'coating2', 'coating3'].map((n) => f[n]);
    expectPrecision(design, [f['(Intercept)'], ...mains, ...pairs], residual);

    // Six heats, mean and two temperatures taken: 3 df; 18 within, 9 for coatings and interaction.
    const { strata: budget } = dfBudget(designInformation(design));
    expect(budget.map(({ units, error }) => [units, error])).toEqual([
      [6, strata.whole_plot.Residuals.df],
      [24, strata.subplot.Residuals.df],
    ]);
    expect(budget.map(({ pureError, lackOfFit }) => [pureError, lackOfFit])).toEqual([
      [3, 0],
      [9, 0],
    ]);
  });

  it('matches oats of Yates (1935): varieties in blocks, nitrogen within, two nested strata', () => {
    const { reml_full: known } = expectedOf('yates-oats-split-plot');
    const rows: Row[] = dataJson('yates-oats-split-plot').rows;
    const varieties = ['Golden Rain', 'Marvellous', 'Victory'];
    const blocks = [...new Set(rows.map(([block]) => block))];
    const factors: Factor[] = [
      { name: 'variety', levels: varieties, changes: 'semi-hard' },
      { name: 'nitrogen', levels: ['0', '0.2', '0.4', '0.6'], changes: 'easy' },
    ];
    const components = known.variance_components;
    const residual = components.Residual;
    const design: AssessedDesign = {
      factors,
      terms: modelTerms('interactions', factors),
      runs: rows.map(([block, variety, nitrogen]) => ({
        coded: { variety: String(variety), nitrogen: String(nitrogen) },
        block: 1,
        wholePlot: blocks.indexOf(block!) + 1,
        subWholePlot: varieties.indexOf(String(variety)) + 1,
      })),
      varianceRatios: [components.Block / residual, components['Block:Variety'] / residual],
    };
    const f = known.fixed;
    const pairs = [1, 2].flatMap((v) => [1, 2, 3].map((n) => f[`Variety${v}:nF${n}`]));
    const mains = ['Variety1', 'Variety2', 'nF1', 'nF2', 'nF3'].map((name) => f[name]);
    expectPrecision(design, [f['(Intercept)'], ...mains, ...pairs], residual);
  });
});
