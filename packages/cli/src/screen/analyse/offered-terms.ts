import {
  type Factor,
  modelTerms,
  type Powers,
  studySpec,
  studyTable,
  termKey,
  termName,
} from '@strandwise/core';
import type { Analysis } from '../../command/fit/study-analysis.ts';
import type { OfferedTerm } from './screen.ts';

/**
 * Terms that can stand in the model of a response: those of the plan's model and of a quadratic, what
 * is in it now, and a covariate that was noted. Contrasts of one named factor go together.
 */
export function offeredTerms(
  { state, models }: Pick<Analysis, 'state' | 'models'>,
  response: string,
  covariate: string,
): OfferedTerm[] {
  const spec = studySpec(state);
  const { factors } = spec;
  const now = modelTerms(models[response] ?? spec.model, factors);
  const isIn = new Set(now.map(termKey));
  const hasCovariate = Object.hasOwn(studyTable(state), covariate);
  const all = [
    ...modelTerms('quadratic', factors),
    ...modelTerms(spec.model, factors),
    ...now,
    ...(hasCovariate ? [{ [covariate]: 1 }] : []),
  ].filter((powers) => Object.keys(powers).length > 0);
  const groups = new Map<string, Map<string, Powers>>();
  for (const powers of all) {
    const name = sourceName(powers, factors);
    const group = groups.get(name) ?? new Map<string, Powers>();
    group.set(termKey(powers), powers);
    groups.set(name, group);
  }
  return [...groups].map(([name, group]) => ({
    name,
    powers: [...group.values()],
    isIn: [...group.keys()].every((key) => isIn.has(key)),
  }));
}

/** The name that contrasts of one named factor share. */
function sourceName(powers: Powers, factors: readonly Factor[]): string {
  const isNamed = (name: string): boolean =>
    factors.some((factor) => factor.name === name && 'levels' in factor);
  return termName(
    Object.fromEntries(
      Object.entries(powers).map(([name, power]) => [name, isNamed(name) ? 1 : power]),
    ),
  );
}
