import { codedPoint, modelMatrix, type Point, pointOf, pointPrediction } from '@strandwise/core';
import { type PanelModel, panelMap, panelReading } from '@strandwise/report';
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
    modelMatrix(panelModel.responses[0]!.terms, [coded], factors).data,
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
  const reading = panelReading(model, setPoints);
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
      close(sd!.low, Math.exp(lnSd.confidence[0]));
      close(sd!.high, Math.exp(lnSd.confidence[1]));
      close(sd!.newRun!.low, Math.exp(lnSd.prediction[0]));
      close(sd!.newRun!.high, Math.exp(lnSd.prediction[1]));
      close(bubbles!.estimate, Math.exp(byCore('ln bubbles', setPoints).estimate));
      expect(bubbles!.newRun).toBeNull();
      const kgPerHour = byCore('output', setPoints);
      close(output!.estimate, kgPerHour.estimate);
      close(output!.newRun!.high, kgPerHour.prediction[1]);
    });
  }

  it('takes a total covariance as well as an unscaled one', () => {
    const total: PanelModel = {
      ...panelModel,
      responses: panelModel.responses.map((r) => ({
        ...r,
        covariance: r.covariance.map((c) => c * r.covarianceScale),
        covarianceScale: 1,
      })),
    };
    const [a, b] = [panelModel, total].map((model) => predicted(model, warmer).predictions[0]!);
    close(b!.low, a!.low);
    close(b!.high, a!.high);
  });

  it('counts the share of draws that keep every limit', () => {
    const reading = predicted(panelModel, panelModel.start);
    const coded = codedPoint(pointOf(panelModel.start, factors, line), factors);
    const row = modelMatrix(panelModel.responses[0]!.terms, [coded], factors).data;
    let kept = 0;
    for (let d = 0; d < 200; d++) {
      const [sd, bubbles, output] = panelModel.chance!.responses.map(
        ({ coefficients, scatter }) =>
          coefficients[d]!.reduce((sum, b, j) => sum + b * row[j]!, 0) + scatter[d]!,
      );
      if (Math.exp(sd!) <= 12 && Math.exp(bubbles!) <= 1 && output! >= 0.12) kept++;
    }
    expect(reading.chance).toBe(kept / 200);
    expect(kept).toBeGreaterThan(0);
    expect(kept).toBeLessThan(200);
  });

  it('has nothing to warn of at the recommended settings', () => {
    expect(predicted(panelModel, panelModel.start).warnings).toEqual([]);
  });

  it('predicts nothing for a zone above the ceiling, even where the profile would smooth it away', () => {
    const [a, b, , d] = panelModel.start.zonesCelsius as [number, number, number, number];
    const reading = panelReading(panelModel, { ...panelModel.start, zonesCelsius: [a, b, 218, d] });
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
      panelReading(limited, { ...limited.start, other: { ...limited.start.other, level } });
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
      plain.responses[0]!.terms,
      [codedPoint(natural, factors)],
      factors,
    ).data;
    close(
      predicted(plain, plain.start).predictions[2]!.estimate,
      pointPrediction(fits.output, row).estimate,
    );
  });
});

describe('panelMap', () => {
  it('draws what the readings say at the same place', () => {
    const map = panelMap(panelModel, panelModel.start)!;
    const at = { ...pointOf(panelModel.start, factors, line), level: 195, screw: 4.75 };
    const row = modelMatrix(
      panelModel.responses[0]!.terms,
      [codedPoint(at, factors)],
      factors,
    ).data;
    close(map.field.values[15 * 31 + 15]!, Math.exp(pointPrediction(fits['ln SD'], row).estimate));
    expect(map.heldAt).toMatch(/^tilt 10\u202f°C, hump \d+\u202f°C, fan 55\u202f%$/);
  });

  it('moves with the factors it holds', () => {
    const calm = panelMap(panelModel, panelModel.start)!;
    const windy = panelMap(panelModel, { ...panelModel.start, fanPercent: 100 })!;
    expect(windy.field.values).not.toEqual(calm.field.values);
    expect(windy.recommended).toEqual(calm.recommended);
  });

  it('is absent when no map is named', () => {
    const { map: _, ...without } = panelModel;
    expect(panelMap(without, panelModel.start)).toBeNull();
  });
});
