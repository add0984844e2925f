import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import * as core from '@strandwise/core';
import { describe, expect, it } from 'vitest';

const folder = join(import.meta.dirname, '../../datasets/distribution-tables');

/** Rows of a table as text; fields with commas are quoted. */
function rowsOf(file: string): string[][] {
  const [, ...body] = readFileSync(join(folder, file), 'utf8').trim().split('\n');
  return body.map((line) =>
    [...line.matchAll(/("[^"]*"|[^,]*)(?:,|$)/g)].map(([, field]) => field!.replaceAll('"', '')),
  );
}

const numbersOf = (file: string): number[][] => rowsOf(file).map((row) => row.map(Number));

/** ln of a decimal such as 1.5e-2000025, which no double holds. */
function logOf(decimal: string): number {
  const [mantissa, exponent] = decimal.split('e');
  return Math.log(Number(mantissa)) + Number(exponent ?? 0) * Math.LN10;
}

/** Collects relative errors, and names the worst in the failure text. */
class Worst {
  private off = 0;
  private text = 'nothing compared';
  private count = 0;

  relative(got: number, wanted: number, what: string): void {
    this.note(got === wanted ? 0 : Math.abs(got / wanted - 1), got, { wanted, what });
  }

  /** A tail: itself while doubles hold it fully, else its logarithm. */
  tail(got: number, decimal: string, { log, what }: { log?: () => number; what: string }): void {
    if (Number(decimal) > 1e-300) this.relative(got, Number(decimal), what);
    else if (log && logOf(decimal) < 0) this.relative(log(), logOf(decimal), `ln tail at ${what}`);
  }

  note(off: number, got: number, { wanted, what }: { wanted: number; what: string }): void {
    this.count += 1;
    const size = Number.isNaN(off) ? Number.POSITIVE_INFINITY : off;
    if (size <= this.off) return;
    this.off = size;
    this.text = `${what}: got ${got}, expected ${wanted}, difference ${got - wanted}, relative ${off}`;
  }

  expectWithin(tolerance: number, leastCount: number): void {
    expect(this.count).toBeGreaterThanOrEqual(leastCount);
    expect(this.off <= tolerance, `${this.text}, tolerance ${tolerance}`).toBe(true);
  }
}

function upperQuantile(family: string, q: number, [df1, df2]: readonly [number, number]): number {
  if (family === 'normal') return core.normalUpperQuantile(q);
  if (family === 't') return core.tUpperQuantile(q, df1);
  if (family === 'F') return core.fUpperQuantile(q, df1, df2);
  return core.chiSquaredUpperQuantile(q, df1);
}

// 1e-12: ln of a tail of 1e-300 is 690, whose rounding is 1e-13 of the tail; ten of those in a kernel.
const TAIL = 1e-12;

describe('central tails against datasets/distribution-tables', () => {
  it('matches the normal table within 1e-12 relative, both tails', () => {
    const worst = new Worst();
    for (const [z, lower, upper] of rowsOf('11a-normal.csv')) {
      const v = Number(z);
      const what = `z=${z}`;
      worst.tail(core.normalLower(v), lower!, { log: () => core.normalLogUpper(-v), what });
      worst.tail(core.normalUpper(v), upper!, { log: () => core.normalLogUpper(v), what });
    }
    worst.expectWithin(TAIL, 76);
  });

  it('matches the t table within 1e-12 relative, to ln tails of −4.6e6', () => {
    const worst = new Worst();
    for (const [t, d, lower, upper, both] of rowsOf('11b-t.csv')) {
      const [v, df] = [Number(t), Number(d)];
      const what = `t=${t} df=${d}`;
      worst.tail(core.tLower(v, df), lower!, { log: () => core.tLogUpper(-v, df), what });
      worst.tail(core.tUpper(v, df), upper!, { log: () => core.tLogUpper(v, df), what });
      worst.tail(core.tTwoSided(v, df), both!, { log: () => core.tLogTwoSided(v, df), what });
    }
    worst.expectWithin(TAIL, 900);
  });

  it('matches the F table within 1e-12 relative', () => {
    const worst = new Worst();
    for (const [x, a, b, lower, upper] of rowsOf('11c-f.csv')) {
      const [v, df1, df2] = [Number(x), Number(a), Number(b)];
      const what = `x=${x} df=${a},${b}`;
      worst.tail(core.fLower(v, df1, df2), lower!, { what });
      worst.tail(core.fUpper(v, df1, df2), upper!, {
        log: () => core.fLogUpper(v, df1, df2),
        what,
      });
    }
    worst.expectWithin(TAIL, 340);
  });

  it('matches the chi-squared table within 1e-12 relative', () => {
    const worst = new Worst();
    for (const [x, d, lower, upper] of rowsOf('11d-chi2.csv')) {
      const [v, df] = [Number(x), Number(d)];
      const what = `x=${x} df=${d}`;
      const log = () => core.chiSquaredLogUpper(v, df);
      worst.tail(core.chiSquaredLower(v, df), lower!, { what });
      worst.tail(core.chiSquaredUpper(v, df), upper!, { log, what });
    }
    worst.expectWithin(TAIL, 390);
  });

  it('matches the quantile table within 1e-12 relative', () => {
    const worst = new Worst();
    for (const [family, a, b, p, x] of rowsOf('11e-upper-quantiles.csv')) {
      const [q, df1, df2] = [Number(p), Number(a), Number(b)];
      worst.relative(
        upperQuantile(family!, q, [df1, df2]),
        Number(x),
        `${family} df=${a},${b} upper tail ${p}`,
      );
    }
    worst.expectWithin(TAIL, 250);
  });
});

describe('noncentral tails against datasets/distribution-tables', () => {
  it('matches the noncentral F table within 1e-12 relative, both tails', () => {
    const worst = new Worst();
    for (const [x, df1, df2, lambda, lower, upper] of numbersOf('11f-noncentral-f.csv')) {
      const shape = { df1: df1!, df2: df2!, lambda: lambda! };
      const what = `x=${x} ${JSON.stringify(shape)}`;
      worst.relative(core.noncentralFLower(x!, shape), lower!, what);
      worst.relative(core.noncentralFUpper(x!, shape), upper!, what);
    }
    worst.expectWithin(TAIL, 340);
  });

  it('matches the noncentral t table within 1e-11 relative above 1e-30', () => {
    const worst = new Worst();
    for (const [t, df, delta, lower, upper] of numbersOf('11g-noncentral-t.csv')) {
      const tails: [number, number][] = [
        [core.noncentralTLower(t!, df!, delta!), lower!],
        [core.noncentralTUpper(t!, df!, delta!), upper!],
      ];
      for (const [got, wanted] of tails) {
        // The table itself cancels to 1e-46 absolute here; see its SOURCE.md.
        if (wanted < 1e-30) expect(Math.abs(got - wanted)).toBeLessThan(1e-44);
        else worst.relative(got, wanted, `t=${t} df=${df} delta=${delta}`);
      }
    }
    worst.expectWithin(1e-11, 324);
  });

  it('matches the noncentral chi-squared table within 1e-12 relative, both tails', () => {
    const worst = new Worst();
    for (const [x, df, lambda, lower, upper] of numbersOf('11h-noncentral-chi2.csv')) {
      const what = `x=${x} df=${df} lambda=${lambda}`;
      worst.relative(core.noncentralChiSquaredLower(x!, df!, lambda!), lower!, what);
      worst.relative(core.noncentralChiSquaredUpper(x!, df!, lambda!), upper!, what);
    }
    worst.expectWithin(TAIL, 240);
  });

  it('matches the power table within 1e-10 relative', () => {
    const worst = new Worst();
    for (const [test, , , alphaText, , dfText, noncentrality, power] of rowsOf('11i-power.csv')) {
      const alpha = Number(alphaText);
      const [df1, df2] = dfText!.split(',').map(Number);
      const lambda = Number(noncentrality);
      const got =
        df2 === undefined
          ? core.tPowerTwoSided(lambda, df1!, alpha)
          : core.fPower({ df1: df1!, df2, lambda, alpha });
      worst.relative(got, Number(power), `${test} df=${dfText} noncentrality=${noncentrality}`);
    }
    worst.expectWithin(1e-10, 79);
  });
});

describe('studentized range and tolerance factors against datasets/distribution-tables', () => {
  it('matches the studentized range table within 1e-12 relative and its 4e-15 absolute', () => {
    const worst = new Worst();
    for (const [q, means, df, upper] of numbersOf('11j-studentized-range.csv')) {
      const got = core.studentizedRangeUpper(q!, means!, df!);
      // The table is one minus a sum near one in doubles, so 4e-15 of it is not known.
      const off = Math.max(0, Math.abs(got - upper!) - 4e-15) / upper!;
      worst.note(off, got, { wanted: upper!, what: `q=${q} means=${means} df=${df}` });
    }
    worst.expectWithin(1e-12, 252);
  });

  it('matches the tolerance factor table within its ten printed decimals', () => {
    const worst = new Worst();
    for (const [n, content, confidence, one, two, howe] of numbersOf('13a-tolerance-factors.csv')) {
      const what = `n=${n} content=${content} confidence=${confidence}`;
      const args = [n!, content!, confidence!] as const;
      worst.relative(core.toleranceFactorOneSided(...args), one!, `one-sided ${what}`);
      worst.relative(core.toleranceFactorTwoSided(...args), two!, `two-sided ${what}`);
      worst.relative(core.toleranceFactorHowe(...args), howe!, `Howe ${what}`);
    }
    worst.expectWithin(1e-10, 700);
  });

  it('gives the published factors of NIST e-Handbook 7.2.6.3 (from memory)', () => {
    expect(core.toleranceFactorHowe(43, 0.9, 0.99)).toBeCloseTo(2.217, 3);
    expect(core.toleranceFactorOneSided(43, 0.9, 0.99)).toBeCloseTo(1.874, 4);
  });

  it('gives the published exact two-sided factor 3.393 for n = 10 (ISO 16269-6, from memory)', () => {
    expect(core.toleranceFactorTwoSided(10, 0.95, 0.95)).toBeCloseTo(3.393, 3);
  });

  it('gives the published upper 5 % points of the studentized range (from memory)', () => {
    const points = [
      [3, 10, 3.877],
      [4, 20, 3.958],
      [5, 60, 3.977],
    ] as const;
    for (const [means, df, q] of points) {
      expect(core.studentizedRangeUpperQuantile(0.05, means, df)).toBeCloseTo(q, 3);
    }
  });
});

describe('further values against datasets/distribution-tables/extra.csv', () => {
  const functions: Record<string, (a: number, b: number, c: number) => number> = {
    log_gamma: core.logGamma,
    digamma: core.digamma,
    trigamma: core.trigamma,
    noncentral_t_upper: core.noncentralTUpper,
    noncentral_chi_squared_upper: core.noncentralChiSquaredUpper,
    t_two_sided: core.tTwoSided,
    beta_lower: core.betaLower,
    beta_upper: core.betaUpper,
    gamma_lower: core.gammaLower,
    gamma_upper: core.gammaUpper,
    poisson_lower: core.poissonLower,
    poisson_upper: core.poissonUpper,
    binomial_lower: core.binomialLower,
    binomial_upper: core.binomialUpper,
  };

  it.each(Object.keys(functions))('matches %s within 1e-11 relative', (quantity) => {
    const worst = new Worst();
    for (const [name, args, value] of rowsOf('extra.csv')) {
      if (name !== quantity) continue;
      const [a, b, c] = args!.split(' ').map(Number);
      const got = functions[quantity]!(a!, b!, c!);
      const wanted = Number(value);
      // ln Γ and ψ cross zero near 1 to 2, where only absolute digits exist.
      const scale = quantity === 'log_gamma' || quantity === 'digamma' ? 1 : 0;
      const off = Math.abs(got - wanted) / Math.max(scale, Math.abs(wanted));
      worst.note(off, got, { wanted, what: `${quantity}(${args})` });
    }
    worst.expectWithin(1e-11, 4);
  });
});
