import { DomainError, nearestName } from '../../error/domain-error.ts';
import { type Factor, isNamed } from '../../factor/factor.ts';
import {
  intercept,
  mainTerms,
  type Powers,
  parentTerms,
  termKey,
  termName,
} from '../../term/term.ts';

/** A model after an edit, and what else had to come along, in words. */
export interface EditedModel {
  readonly terms: readonly Powers[];
  readonly added: readonly string[];
  readonly dropped: readonly string[];
  readonly says: readonly string[];
}

/** What a change of a model asks for, each a term as it is shown ("screw × fan", "level²"). */
export interface ModelEdit {
  readonly add?: readonly string[];
  readonly drop?: readonly string[];
}

/**
 * A model with terms added and dropped by their names. Hierarchy is kept: what a new term is made of
 * comes in with it, and a term that others are made of cannot go alone.
 *
 * @param besides - names of covariates that may enter
 * @throws {DomainError} `unknown_term`, `term_absent`, `term_present` or `term_needed`
 */
export function editedModel(
  terms: readonly Powers[],
  { add = [], drop = [] }: ModelEdit,
  factors: readonly Factor[],
  besides: readonly string[] = [],
): EditedModel {
  const known = { factors, besides };
  let now = [...terms];
  if (!now.some((powers) => Object.keys(powers).length === 0)) now = [intercept, ...now];
  const before = new Set(now.map(termKey));
  const says: string[] = [];
  const leaving = drop.flatMap((text) => termsOf(text, known).map((powers) => ({ text, powers })));
  for (const { powers } of leaving) requirePresent(now, powers);
  const gone = new Set(leaving.map(({ powers }) => termKey(powers)));
  now = now.filter((powers) => !gone.has(termKey(powers)));
  for (const text of add) {
    const wanted = termsOf(text, known);
    if (wanted.every((powers) => has(now, powers))) throw present(text);
    const parents = withAncestors(wanted).filter((powers) => !has(now, powers));
    const brought = parents.filter((powers) => !has(wanted, powers));
    if (brought.length > 0)
      says.push(`${brought.map(termName).join(', ')} came in with ${text}, which is made of it.`);
    now.push(...parents);
  }
  for (const { text, powers } of leaving) requireUnneeded(now, powers, text);
  const after = new Set(now.map(termKey));
  return {
    terms: now,
    added: now.filter((powers) => !before.has(termKey(powers))).map(termName),
    dropped: terms.filter((powers) => !after.has(termKey(powers))).map(termName),
    says,
  };
}

interface Known {
  readonly factors: readonly Factor[];
  readonly besides: readonly string[];
}

const has = (terms: readonly Powers[], powers: Powers): boolean =>
  terms.some((term) => termKey(term) === termKey(powers));

/**
 * The terms that a name stands for: "screw × fan", "screw x fan", "level²", "level x level". A factor
 * with named levels stands for all its contrasts.
 *
 * @throws {DomainError} `unknown_term`
 */
export function termsOf(text: string, { factors, besides }: Known): Powers[] {
  const pieces = text.split(/\s*×\s*|\s+x\s+/).map((piece) => pieceOf(piece.trim(), text));
  let out: Powers[] = [{}];
  for (const { name, power } of pieces) {
    const factor = factors.find((candidate) => sameName(candidate.name, name));
    const level = levelOf(name, factors);
    if (level) out = out.map((powers) => ({ ...powers, ...level }));
    else if (factor && isNamed(factor))
      out = out.flatMap((powers) => mainTerms(factor).map((main) => ({ ...powers, ...main })));
    else {
      const own = factor?.name ?? besides.find((other) => sameName(other, name));
      if (own === undefined) throw unknownTerm(text, name, { factors, besides });
      out = out.map((powers) => ({ ...powers, [own]: Number(powers[own] ?? 0) + power }));
    }
  }
  return out;
}

/** "nozzle [3 mm]" as the contrast of that one level. */
function levelOf(name: string, factors: readonly Factor[]): Powers | null {
  const parts = /^(.+?)\s*\[(.+)\]$/.exec(name);
  const factor = parts && factors.find((candidate) => sameName(candidate.name, parts[1]!));
  return parts && factor && isNamed(factor) && factor.levels.includes(parts[2]!)
    ? { [factor.name]: parts[2]! }
    : null;
}

const sameName = (a: string, b: string): boolean => a.toLowerCase() === b.toLowerCase();

function pieceOf(piece: string, text: string): { name: string; power: number } {
  const raised = /^(.*?)\s*(²|³|squared|cubed)$/i.exec(piece);
  if (raised) {
    const isSquare = raised[2] === '²' || raised[2]!.toLowerCase() === 'squared';
    return { name: raised[1]!, power: isSquare ? 2 : 3 };
  }
  if (piece === '') throw unknownTerm(text, text, { factors: [], besides: [] });
  return { name: piece, power: 1 };
}

function unknownTerm(text: string, name: string, { factors, besides }: Known): DomainError {
  const known = [...factors.map((factor) => factor.name), ...besides];
  const near = nearestName(name, known);
  const help = near
    ? `Did you mean "${near}"?`
    : `Write it as it is shown, such as "screw × fan", "screw x fan" or "level²"; known: ${known.join(', ')}.`;
  return new DomainError(
    'unknown_term',
    `model: a term must be made of known factors; got "${text}". ${help}`,
    {
      term: text,
      known,
    },
  );
}

function requirePresent(terms: readonly Powers[], powers: Powers): void {
  if (Object.keys(powers).length > 0 && has(terms, powers)) return;
  const known = terms.filter((term) => Object.keys(term).length > 0).map(termName);
  throw new DomainError(
    'term_absent',
    `model: only a term of the model can be dropped; got "${termName(powers)}". In the model: ${known.join(', ') || 'none'}.`,
    { term: termName(powers), known },
  );
}

const present = (text: string): DomainError =>
  new DomainError('term_present', `model: "${text}" is in the model already. Nothing to add.`, {
    term: text,
  });

function requireUnneeded(terms: readonly Powers[], powers: Powers, text: string): void {
  const key = termKey(powers);
  const children = terms.filter((term) =>
    parentTerms(term).some((parent) => termKey(parent) === key),
  );
  if (children.length === 0) return;
  throw new DomainError(
    'term_needed',
    `model: "${text}" must stay while ${children.map(termName).join(', ')} ${children.length === 1 ? 'is' : 'are'} made of it. Drop ${children.length === 1 ? 'that' : 'those'} first.`,
    { term: text, children: children.map(termName) },
  );
}

/** Terms with everything they are made of, simplest first. */
function withAncestors(terms: readonly Powers[]): Powers[] {
  const out = new Map<string, Powers>();
  const visit = (powers: Powers): void => {
    if (Object.keys(powers).length === 0 || out.has(termKey(powers))) return;
    for (const parent of parentTerms(powers)) visit(parent);
    out.set(termKey(powers), powers);
  };
  for (const powers of terms) visit(powers);
  return [...out.values()];
}
