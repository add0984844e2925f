import { tTwoSided, tUpperQuantile } from '../distribution/student-t.ts';
import { DomainError } from '../error/domain-error.ts';

/** Lenth's reading of effects that have no error of their own. */
export interface Lenth {
  /** Pseudo standard error of an effect. */
  readonly pse: number;
  /** m/3, usually fractional. */
  readonly df: number;
  /** Margin of error: an effect beyond it stands out, taken alone. */
  readonly me: number;
  /** Simultaneous margin of error: one beyond it stands out among all m. */
  readonly sme: number;
  /** effect / pse and its two-sided p on `df`; null when the pse is 0. */
  readonly effects: readonly {
    readonly effect: number;
    readonly ratio: number | null;
    readonly p: number | null;
  }[];
}

/**
 * Lenth's method for unreplicated effects.
 *
 * s0 = 1.5·median|e|; PSE = 1.5·median of the |e| below 2.5·s0; ME = t(1 − α/2; m/3)·PSE;
 * SME = t(γ; m/3)·PSE with γ = (1 + (1 − α)^(1/m)) / 2.
 *
 * @param effects - m contrasts of equal variance, the mean left out; m >= 3
 * @param alpha - in (0, 1)
 * @throws {DomainError} `too_few_effects` when m < 3
 * @source Lenth (1989), Quick and easy analysis of unreplicated factorials, Technometrics 31:469–473
 */
export function lenth(effects: Float64Array, alpha = 0.05): Lenth {
  const m = effects.length;
  if (m < 3) {
    throw new DomainError(
      'too_few_effects',
      `lenth: effects must number at least 3; got ${m}. Use replicated runs to judge so few.`,
      { effects: m },
    );
  }
  const pse = pseudoStandardError(effects);
  const df = m / 3;
  const gamma = (1 + (1 - alpha) ** (1 / m)) / 2;
  return {
    pse,
    df,
    me: tUpperQuantile(alpha / 2, df) * pse,
    sme: tUpperQuantile(1 - gamma, df) * pse,
    effects: Array.from(effects, (effect) => {
      if (pse === 0) return { effect, ratio: null, p: null };
      return { effect, ratio: effect / pse, p: tTwoSided(effect / pse, df) };
    }),
  };
}

/** 1.5·median of the |e| below 2.5·s0, s0 = 1.5·median|e|. */
export function pseudoStandardError(effects: Float64Array): number {
  const sizes = effects.map(Math.abs);
  const first = 1.5 * median(sizes);
  return 1.5 * median(sizes.filter((size) => size < 2.5 * first));
}

/** Median; 0 of nothing, which only happens when more than half of the effects are exactly 0. */
function median(values: Float64Array): number {
  if (values.length === 0) return 0;
  const sorted = values.slice().sort();
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}
