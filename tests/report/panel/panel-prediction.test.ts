import {
  codedPoint,
  conformanceModel,
  feasibilityAt,
  modelMatrix,
  type Point,
  pointFromSettings,
  pointOf,
  pointPrediction,
  settingsOf,
} from '@strandwise/core';
import {
  livePanel,
  type PanelModel,
  panelFromJson,
  panelJson,
  panelMap,
  panelReading,
} from '@strandwise/report';
import { describe, expect, it } from 'vitest';
import { factors, fits, line, panelModel } from './invented-panel.ts';

const warmer = {
  ...panelModel.start,
  zonesCelsius: panelModel.start.zonesCelsius.map((t) => t + 4),
  screwRpm: 5.1,
};

/** What core itself says at set points, from the fit and not from the panel's copy of it. */
function byCore(name: keyof typeof fits, setPoints: PanelModel['start']) {
  const coded = codedPoint(pointOf(setPoints, factors, line), factors);
  return pointPrediction(
    fits[name],
    modelMatrix(panelModel.responses[0]!.surface.terms, [coded], factors).data,
  );
}

// Two sums in another order: 1e-10 relative leaves room for rounding only.
const close = (got: number, expected: number): void => {
  expect(
    Math.abs(got - expected) / Math.abs(expected),
    `got ${got}, expected ${expected}`,
  ).toBeLessThan(1e-10);
};

/** The reading of a setting that may be run. */
function predicted(model: PanelModel, setPoints: PanelModel['start']) {
  const reading = panelReading(livePanel(model), setPoints);
  if (reading.kind !== 'predicted') throw new Error(`refused: ${reading.reasons.join(' ')}`);
  return reading;
}

const withoutLine: PanelModel = {
  ...panelModel,
  line: null,
  grade: null,
  start: {
    zonesCelsius: [],
    screwRpm: 0,
    fanPercent: 0,
    other: { level: 194, tilt: 10, hump: 8, screw: 4.25, fan: 55 },
  },
};

describe('panelReading', () => {
  for (const [words, setPoints] of [
    ['the start', panelModel.start],
    ['a warmer, faster setting', warmer],
  ] as const) {
    it(`equals core's prediction and both intervals at ${words}`, () => {
      const [sd, bubbles, output] = predicted(panelModel, setPoints).predictions;
      const lnSd = byCore('ln SD', setPoints);
      close(sd!.estimate, Math.exp(lnSd.estimate));
      close(sd!.mean!.low, Math.exp(lnSd.confidence[0]));
      close(sd!.mean!.high, Math.exp(lnSd.confidence[1]));
      close(sd!.newRun!.low, Math.exp(lnSd.prediction[0]));
      close(sd!.newRun!.high, Math.exp(lnSd.prediction[1]));
      close(bubbles!.estimate, Math.exp(byCore('ln bubbles', setPoints).estimate));
      const kgPerHour = byCore('output', setPoints);
      close(output!.estimate, kgPerHour.estimate);
      close(output!.newRun!.high, kgPerHour.prediction[1]);
    });
  }

  it('equals the joint chance that core computes, strand included', () => {
    const model = panelFromJson(panelJson(panelModel));
    const { surfaces } = livePanel(panelModel);
    const { strand } = panelModel.chance!;
    if (strand?.result.kind !== 'fitted') throw new Error('the invented failures are not fitted');
    const { result, terms } = strand;
    const joint = conformanceModel({
      judged: surfaces.flatMap(({ surface, requirements }) =>
        requirements.map((requirement) => ({ requirement, surface })),
      ),
      strandForms: (settings) =>
        feasibilityAt(
          result,
          modelMatrix(terms, [pointFromSettings(settings, factors)], factors).data,
        ).runs,
      seed: panelModel.chance!.seed,
    });
    for (const setPoints of [panelModel.start, warmer]) {
      const settings = settingsOf(codedPoint(pointOf(setPoints, factors, line), factors), factors);
      const { chance } = predicted(model, setPoints);
      expect(chance).toBe(joint.at(settings).probability);
      expect(chance).toBeGreaterThan(0.2);
      expect(chance).toBeLessThan(1);
    }
  });

  it('gives estimates without intervals when nothing can judge them', () => {
    const bare: PanelModel = {
      ...panelModel,
      responses: panelModel.responses.map(({ surface, ...rest }) => ({
        ...rest,
        surface: { ...surface, covariance: null, belief: null },
      })),
    };
    const { predictions, chance } = predicted(bare, bare.start);
    expect(predictions.map(({ mean, newRun }) => [mean, newRun])).toEqual(
      predictions.map(() => [null, null]),
    );
    expect(chance).toBeNull();
  });

  it('has nothing to warn of at the recommended settings', () => {
    expect(predicted(panelModel, panelModel.start).warnings).toEqual([]);
  });

  it('predicts nothing for a zone above the ceiling, even where the profile would smooth it away', () => {
    const [a, b, , d] = panelModel.start.zonesCelsius as [number, number, number, number];
    const reading = panelReading(livePanel(panelModel), {
      ...panelModel.start,
      zonesCelsius: [a, b, 218, d],
    });
    expect(reading).toMatchObject({ kind: 'refused' });
    expect(JSON.stringify(reading)).toContain(
      "218 °C of zone 3 is above the material's recorded ceiling 215 °C",
    );
  });

  it('refuses what breaks a limit of the region when there is no line', () => {
    const says = 'level not above 200 °C';
    const limited: PanelModel = {
      ...withoutLine,
      limits: [{ coefficients: { level: 1 }, atMost: 0.5, says }],
    };
    const at = (level: number) =>
      panelReading(livePanel(limited), {
        ...limited.start,
        other: { ...limited.start.other, level },
      });
    expect(at(201)).toEqual({ kind: 'refused', reasons: [`Not allowed: ${says}.`] });
    expect(at(199).kind).toBe('predicted');
  });

  it('warns beyond the range that was run, and of shapes nobody tried', () => {
    const zones = panelModel.start.zonesCelsius.map((celsius) => celsius + 13);
    const hot = predicted(panelModel, { ...panelModel.start, zonesCelsius: zones }).warnings.join(
      '\n',
    );
    expect(hot).toMatch(/level would be 207\u202f°C, outside what was run \(185 to 205\)/);
    const [a, b, c, d] = panelModel.start.zonesCelsius as [number, number, number, number];
    const zigzag = predicted(panelModel, {
      ...panelModel.start,
      zonesCelsius: [a, b + 8, c - 8, d],
    });
    expect(zigzag.warnings.join('\n')).toMatch(/The zones' ripple differs by/);
  });

  it('works without a line, on factors alone', () => {
    const plain = withoutLine;
    const natural: Point = plain.start.other;
    const row = modelMatrix(
      plain.responses[0]!.surface.terms,
      [codedPoint(natural, factors)],
      factors,
    ).data;
    close(
      predicted(plain, plain.start).predictions[2]!.estimate,
      pointPrediction(fits.output, row).estimate,
    );
  });
});

describe('panelJson', () => {
  it('carries every number bit by bit, arrays and infinities too', () => {
    const [first, ...others] = panelModel.responses;
    const model: PanelModel = {
      ...panelModel,
      responses: [
        { ...first!, surface: { ...first!.surface, df: Number.POSITIVE_INFINITY } },
        ...others,
      ],
    };
    expect(panelFromJson(panelJson(model))).toEqual(model);
  });

  it('takes no factor for an array, whatever its name', () => {
    const terms = [{ float64: 1 }, { number: 'Infinity' }];
    const model = {
      ...panelModel,
      responses: [{ surface: { ...panelModel.responses[0]!.surface, terms } }],
    };
    expect(panelFromJson(panelJson(model)).responses[0]!.surface.terms).toEqual(terms);
  });
});

describe('panelMap', () => {
  it('draws what the readings say at the same place', () => {
    const map = panelMap(livePanel(panelModel), panelModel.start)!;
    const at = { ...pointOf(panelModel.start, factors, line), level: 195, screw: 4.75 };
    const row = modelMatrix(
      panelModel.responses[0]!.surface.terms,
      [codedPoint(at, factors)],
      factors,
    ).data;
    close(map.field.values[15 * 31 + 15]!, Math.exp(pointPrediction(fits['ln SD'], row).estimate));
    expect(map.heldAt).toMatch(/^tilt 10\u202f°C, hump \d+\u202f°C, fan 55\u202f%$/);
  });

  it('moves with the factors it holds', () => {
    const calm = panelMap(livePanel(panelModel), panelModel.start)!;
    const windy = panelMap(livePanel(panelModel), { ...panelModel.start, fanPercent: 100 })!;
    expect(windy.field.values).not.toEqual(calm.field.values);
    expect(windy.recommended).toEqual(calm.recommended);
  });

  it('is absent when no map is named', () => {
    const { map: _, ...without } = panelModel;
    expect(panelMap(livePanel(without), panelModel.start)).toBeNull();
  });
});
