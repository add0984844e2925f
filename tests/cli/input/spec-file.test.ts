import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Spec } from '@strandwise/core';
import { afterAll, describe, expect, it } from 'vitest';
import { readDocument } from '../../../packages/cli/src/input/read-document.ts';

const folder = mkdtempSync(join(tmpdir(), 'strandwise-spec-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const a = { name: 'a', low: 0, high: 10 };
const y = { name: 'y', kind: 'continuous' };
const whole = { factors: [a], responses: [y], model: 'main' };

function reading(content: object | string) {
  const file = join(folder, 'spec.json');
  writeFileSync(file, typeof content === 'string' ? content : JSON.stringify(content));
  return () => readDocument(file, Spec);
}

describe('a spec from outside', () => {
  it('is read when it is right', () => {
    expect(reading(whole)()).toMatchObject({ model: 'main', factors: [{ changes: 'easy' }] });
  });

  it.each<[string, object | string, RegExp]>([
    [
      'an unknown field, with the nearest',
      { ...whole, respones: 1 },
      /unknown field "respones"\. Did you mean "responses"\?/,
    ],
    [
      'an unknown field of a factor',
      { ...whole, factors: [{ ...a, unti: 'C' }] },
      /unknown field "unti" in "factors\.0"\. Did you mean "unit"\?/,
    ],
    [
      'fields that exclude each other',
      { factors: [{ name: 'a', levels: ['x', 'y'], low: 1 }] },
      /unknown field "low" in "factors\.0"\. It does not go with/,
    ],
    ['a missing field', {}, /field "factors" is missing; expected array/],
    [
      'numbers as text',
      { ...whole, factors: [{ ...a, low: '0' }] },
      /field "factors\.0\.low": .*expected number, received string; got "0"/,
    ],
    [
      'infinity',
      '{"factors": [{"name": "a", "low": 0, "high": 1e400}]}',
      /"factors\.0\.high": .*expected number, received Infinity/,
    ],
    [
      'a kind almost right',
      { ...whole, responses: [{ ...y, kind: 'Continous' }] },
      /got "Continous"\. Did you mean "continuous"\?/,
    ],
    [
      'a goal in a word',
      { ...whole, responses: [{ ...y, goal: 'maximize' }] },
      /"responses\.0\.goal": a goal must say its aim, such as \{"aim": "largest"\}.*got "maximize"/,
    ],
    [
      'low above high',
      { factors: [{ ...a, low: 11 }] },
      /high must exceed low; got low=11, high=10/,
    ],
    [
      'levels twice',
      { factors: [{ name: 'a', levels: ['x', 'x'] }] },
      /"factors\.0\.levels\.1": levels must differ; got "x" twice/,
    ],
    [
      'factors twice',
      { factors: [a, { ...a, name: 'A' }] },
      /factor names must differ; got "A" twice/,
    ],
    [
      'terms twice',
      { ...whole, model: { terms: [{}, { a: 1 }, { a: 1 }] } },
      /terms must differ; got "a" twice/,
    ],
    [
      'a broken power',
      { ...whole, model: { terms: [{ a: 1.5 }] } },
      /"model\.terms\.0\.a": .*expected int.*got 1\.5/,
    ],
    [
      'a term of no factor',
      { ...whole, model: { terms: [{ b: 1 }] } },
      /must use known factors; got "b"\. Known: a\./,
    ],
    [
      'a name no program can keep',
      '{"factors": [{"name": "__proto__", "low": 0, "high": 1}]}',
      /a name must be one line of text.*got "__proto__"/,
    ],
    [
      'a name over two lines',
      { factors: [{ ...a, name: 'a\nb' }] },
      /a name must be one line of text/,
    ],
  ])('with %s is refused in words', (_name, content, says) => {
    expect(reading(content)).toThrow(says);
  });
});
