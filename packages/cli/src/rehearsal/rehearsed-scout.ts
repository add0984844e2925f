import {
  confirmationHold,
  holdFor,
  type ScoutAdvice,
  type ScoutOf,
  type ScoutStep,
  scoutAdvice,
  studyHold,
} from '@strandwise/core';
import { lookOf, type VirtualGrade, type VirtualLine } from '@strandwise/virtual-line';
import type { LineClock } from './rehearsed-walk.ts';

/** Seconds that an operator looks at a strand before saying what it is; common practice, no source. */
const lookSeconds = 120;
/** More steps than this are a fault of the search, not of a grade. */
const mostSteps = 30;

export interface ScoutRehearsal {
  readonly line: VirtualLine;
  readonly grade: VirtualGrade;
  readonly clock: LineClock;
  /** Factor by which the operator's eye is off at each step; 1 when absent. */
  readonly misjudged?: () => number;
  readonly onStep?: (step: ScoutStep) => void;
}

/** Scouts on the virtual line until the advice ends, and returns it. */
export function rehearsedScout(
  scout: Omit<ScoutOf, 'steps'> & Partial<Pick<ScoutOf, 'steps'>>,
  { line, grade, clock, misjudged = () => 1, onStep }: ScoutRehearsal,
): { readonly advice: ScoutAdvice; readonly steps: readonly ScoutStep[]; readonly grams: number } {
  const steps: ScoutStep[] = [...(scout.steps ?? [])];
  let grams = 0;
  for (;;) {
    const advice = scoutAdvice({ ...scout, steps });
    if (advice.kind !== 'step') return { advice, steps, grams };
    if (steps.length >= mostSteps) throw new Error(`scouting took ${mostSteps} steps without end`);
    const hold = holdFor({
      from: steps.length === 0 ? { kind: 'ready' } : line.setPoints,
      to: advice.setPoints,
      line: scout.line,
      grade: scout.grade,
      rule: steps.length === 0 ? confirmationHold : studyHold,
    });
    line.set(advice.setPoints);
    const held = Math.ceil(hold.seconds);
    for (let i = 0; i < held; i++) line.step();
    const readings = Array.from({ length: lookSeconds }, () => line.step());
    clock.advance(held + lookSeconds);
    grams += (1000 * line.truth.outputKgPerHour * (held + lookSeconds)) / 3600;
    const step: ScoutStep = {
      setPoints: advice.setPoints,
      levelCelsius: advice.levelCelsius,
      seen: lookOf(readings, line.truth.viscosityPas, grade, misjudged()),
      purpose: advice.purpose,
    };
    steps.push(step);
    onStep?.(step);
  }
}
