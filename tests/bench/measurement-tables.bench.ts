// Slow simulations behind the quick tests; each prints its table and is run once.
import {
  correlationTimes,
  periodicParts,
  sampleSd,
  settledStretch,
  settlingWatch,
  spreadOf,
  varianceRatio,
} from '@strandwise/core';
import { bench, describe } from 'vitest';
import {
  autoregressive,
  average,
  logOf,
  normalSource,
  varianceOf,
} from '../core/measurement/noise.ts';

const once = { iterations: 1, warmupIterations: 0, time: 0, warmupTime: 0 };
/** The bench calls a case several times; a table is wanted once. */
const printed = new Set<string>();
function table(name: string, rows: () => readonly object[]): void {
  bench(
    name,
    () => {
      if (printed.has(name)) return;
      printed.add(name);
      console.table(rows());
    },
    once,
  );
}

const PHIS = [0, 0.3, 0.6, 0.8, 0.9, 0.95];
const rounded = (x: number, digits = 4): number => Number(x.toPrecision(digits));
const surge = (i: number): number => Math.sin((2 * Math.PI * i) / 12);

describe('tables', () => {
  table('effective sizes and Var ln s of first-order noise, 4,000 logs each', () => {
    const normal = normalSource(1);
    const rows = [300, 600].flatMap((n) =>
      PHIS.map((phi) => {
        const logs = Array.from({ length: 4000 }, () => autoregressive(n, phi, normal));
        const times = logs.map(correlationTimes);
        const observed = varianceOf(logs.map((x) => Math.log(sampleSd(x))));
        return {
          n,
          phi,
          'n for mean, closed': rounded((n * (1 - phi)) / (1 + phi)),
          'told (mean)': rounded(n / average(times.map((t) => t.forMean))),
          'n for variance, closed': rounded((n * (1 - phi * phi)) / (1 + phi * phi)),
          'told (variance)': rounded(average(times.map((t) => n / t.forVariance))),
          'Var ln s, observed': rounded(observed),
          'Var ln s, told': rounded(average(logs.map((x) => spreadOf(x, 1, 0)!.lnSdVariance))),
          'Monte-Carlo error, %': rounded(100 * Math.sqrt(2 / 4000), 2),
        };
      }),
    );
    return rows;
  });

  table('false alarms of periodicParts at 1 %, 4,000 clean logs each', () => {
    const normal = normalSource(2);
    const rows = [300, 600, 1800].flatMap((n) =>
      PHIS.map((phi) => {
        let alarms = 0;
        for (let r = 0; r < 4000; r++) {
          if (periodicParts(autoregressive(n, phi, normal), 1).parts.length > 0) alarms++;
        }
        return { n, phi, 'false alarms, %': rounded(alarms / 40, 3) };
      }),
    );
    return rows;
  });

  table('a 12 s ripple found in ten minutes of 10 µm noise, 500 logs each', () => {
    const normal = normalSource(3);
    const rows = [0, 0.6, 0.8].flatMap((phi) =>
      [2, 3, 5, 8].map((amplitude) => {
        let found = 0;
        for (let r = 0; r < 500; r++) {
          const x = autoregressive(600, phi, normal).map(
            (v, i) => 10 * v + amplitude * surge(i + r / 7),
          );
          const { parts } = periodicParts(x, 1, { turning: { screwRpm: 5 } });
          if (parts.some((part) => part.cause === 'screw')) found++;
        }
        return { phi, 'amplitude, µm': amplitude, 'found, %': rounded(found / 5, 3) };
      }),
    );
    return rows;
  });

  table('settledStretch and the strand light on still and drifting strands, 500 logs each', () => {
    const normal = normalSource(4);
    const rows = [0, 0.6, 0.8, 0.9].flatMap((phi) =>
      [0, 1, 2, 3, 5].map((micrometresPerMinute) => {
        const tally = { settled: 0, 'too-short': 0, 'never-settled': 0 };
        let on = 0;
        for (let r = 0; r < 500; r++) {
          const x = autoregressive(1200, phi, normal).map(
            (v, i) => 1.75 + 0.01 * v + 0.008 * surge(i) + (micrometresPerMinute * i) / 60_000,
          );
          tally[settledStretch(logOf(x), { screwRpm: 5 }).kind]++;
          const watch = settlingWatch({ screwRpm: 5, holdUpCm3: 27.6 });
          for (let i = 0; i < x.length; i++) {
            if (watch.push({ seconds: i, diameterMm: x[i]! }).strand.isOn && i >= 600) on++;
          }
        }
        return {
          phi,
          'drift, µm/min': micrometresPerMinute,
          ...tally,
          'light on, %': rounded(on / 3000, 3),
        };
      }),
    );
    return rows;
  });

  table('quantiles of the variance ratio, 2,000,000 values', () => {
    const normal = normalSource(5);
    const rows = [
      [0.2, 0.1],
      [0.1, 0.1],
      [0.05, 0.05],
    ].map(([level, other]) => {
      const ratio = varianceRatio({
        level: level!,
        aroundLevel: other!,
        betweenNeighbours: other!,
      });
      const seen = new Float64Array(2_000_000)
        .map(() => ratio.push(normal()))
        .subarray(1000)
        .sort();
      const at = (p: number): number => rounded(seen[Math.floor(p * seen.length)]!, 3);
      return {
        level,
        other,
        '5 %': at(0.05),
        '50 %': at(0.5),
        '90 %': at(0.9),
        '95 %': at(0.95),
        '99 %': at(0.99),
      };
    });
    return rows;
  });
});
