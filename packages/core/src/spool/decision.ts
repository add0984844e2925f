import type { AcceptanceLimits } from './acceptance.ts';
import type { SpoolCertificate } from './certificate.ts';

type Measured = Pick<
  SpoolCertificate,
  'metres' | 'mean' | 'performance' | 'outside' | 'ovality95Mm' | 'bubbles'
>;

export interface SpoolDecision {
  readonly accepted: boolean;
  /** What speaks against the spool; one sentence each. When accepted: that every limit is kept. */
  readonly reasons: string[];
  /** Limits that this log cannot judge; they do not reject. */
  readonly cannotSay: string[];
}

const mm = (value: number): string => `${value.toFixed(4)} mm`;

/** Judges a spool against the lab's limits, every one of them, so that all reasons are known at once. */
export function spoolDecision(measured: Measured, limits: AcceptanceLimits): SpoolDecision {
  const { mean, performance, outside, metres, ovality95Mm, bubbles } = measured;
  const against: string[] = [];
  const cannotSay: string[] = [];
  const check = (isKept: boolean, says: string): void => void (isKept || against.push(says));
  const off = Math.abs(mean.value - limits.diameterMm);
  check(
    off <= limits.mostMeanOffMm,
    `The mean is ${mm(off)} off target; at most ${mm(limits.mostMeanOffMm)}.`,
  );
  check(
    performance.nearerNotBelow >= limits.leastPpk,
    `Ppk is ${performance.nearer.value.toFixed(2)} and not below ${performance.nearerNotBelow.toFixed(2)} only (confidence ${limits.confidence}); asked is ${limits.leastPpk}.`,
  );
  check(
    outside.share <= limits.mostShareOutside,
    `${(100 * outside.share).toFixed(2)} % of the readings lie outside; at most ${(100 * limits.mostShareOutside).toFixed(2)} %.`,
  );
  check(
    outside.worstBeyondMm <= limits.mostBeyondMm + 1e-9,
    `One reading is ${mm(outside.worstBeyondMm)} beyond the tolerance; at most ${mm(limits.mostBeyondMm)}.`,
  );
  if (outside.longestMetres === null) cannotSay.push('Lengths: the log has no puller speed.');
  else
    check(
      outside.longestMetres <= limits.longestOutsideMetres + 1e-9,
      `${outside.longestMetres.toFixed(2)} m in one piece lie outside; at most ${limits.longestOutsideMetres} m.`,
    );
  if (limits.leastMetres !== undefined && metres !== null)
    check(
      metres >= limits.leastMetres,
      `The spool holds ${metres.toFixed(1)} m; at least ${limits.leastMetres} m.`,
    );
  if (limits.mostBubblesPerMetre !== undefined) {
    if (bubbles === null) cannotSay.push('Bubbles: none were counted for this spool.');
    else
      check(
        bubbles.rateNotAbove <= limits.mostBubblesPerMetre,
        `${bubbles.count} bubbles in ${bubbles.metres} m mean up to ${bubbles.rateNotAbove.toFixed(2)} per metre; at most ${limits.mostBubblesPerMetre}.`,
      );
  }
  if (limits.mostOvalityMm !== undefined) {
    if (ovality95Mm === null) cannotSay.push('Ovality: the gauge has one axis.');
    else
      check(
        ovality95Mm <= limits.mostOvalityMm,
        `Ovality reaches ${mm(ovality95Mm)} (95 % of readings below); at most ${mm(limits.mostOvalityMm)}.`,
      );
  }
  return {
    accepted: against.length === 0,
    reasons: against.length > 0 ? against : ['Every limit that this log can judge is kept.'],
    cannotSay,
  };
}
