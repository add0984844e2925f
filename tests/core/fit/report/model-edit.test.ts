import {
  alternatives,
  type DomainError,
  editedModel,
  Factor,
  fitTable,
  modelChange,
  modelChoice,
  modelTerms,
  Spec,
  seededUniform,
  termName,
} from '@strandwise/core';
import { describe, expect, it } from 'vitest';

const factors = [
  Factor.parse({ name: 'level', low: 190, high: 210 }),
  Factor.parse({ name: 'screw', low: 3, high: 7 }),
  Factor.parse({ name: 'nozzle', levels: ['2 mm', '3 mm', '4 mm'] }),
];
const names = (terms: readonly object[]): string[] =>
  terms.map((powers) => termName(powers as never));

describe('editedModel', () => {
  const main = modelTerms('main', factors);

  it('takes a product in by its name, whatever the order or letters', () => {
    for (const text of ['level × screw', 'screw x level', 'Level X screw'.replace(' X ', ' x ')]) {
      const { added } = editedModel(main, { add: [text] }, factors);
      expect(added.length, text).toBe(1);
    }
    expect(editedModel(main, { add: ['level²'] }, factors).added).toEqual(['level²']);
    expect(editedModel(main, { add: ['level x level'] }, factors).added).toEqual(['level²']);
    expect(editedModel(main, { add: ['level squared'] }, factors).added).toEqual(['level²']);
  });

  it('brings in what a term is made of, and says so', () => {
    const { terms, says } = editedModel([{}], { add: ['level²'] }, factors);
    expect(names(terms)).toEqual(['intercept', 'level', 'level²']);
    expect(says).toEqual(['level came in with level², which is made of it.']);
  });

  it('moves all contrasts of a named factor together', () => {
    const { dropped } = editedModel(main, { drop: ['nozzle'] }, factors);
    expect(dropped).toEqual(['nozzle [2 mm]', 'nozzle [3 mm]']);
    const { added } = editedModel(main, { add: ['nozzle x screw'] }, factors);
    expect(added).toEqual(['nozzle [2 mm] × screw', 'nozzle [3 mm] × screw']);
  });

  it('takes a covariate in that was noted', () => {
    expect(
      editedModel(main, { add: ['hours since drying'] }, factors, ['hours since drying']).added,
    ).toEqual(['hours since drying']);
  });

  const thrown = (work: () => unknown): DomainError => {
    try {
      work();
    } catch (error) {
      return error as DomainError;
    }
    throw new Error('nothing was thrown');
  };

  it('throws term_needed when others are made of the term', () => {
    const quadratic = modelTerms('quadratic', factors.slice(0, 2));
    const error = thrown(() => editedModel(quadratic, { drop: ['level'] }, factors));
    expect(error.code).toBe('term_needed');
    expect(error.message).toBe(
      'model: "level" must stay while level × screw, level² are made of it. Drop those first.',
    );
  });

  it('throws unknown_term with the nearest name, term_absent and term_present', () => {
    expect(thrown(() => editedModel(main, { add: ['levle²'] }, factors)).message).toMatch(
      /Did you mean "level"/,
    );
    expect(thrown(() => editedModel(main, { drop: ['level²'] }, factors)).code).toBe('term_absent');
    expect(thrown(() => editedModel(main, { add: ['level'] }, factors)).code).toBe('term_present');
  });
});

// Invented: screw and a bowl in level matter, fan does nothing; whole plots of four.
const uniform = seededUniform(21);
const plots = Array.from({ length: 9 }, (_, g) => ({
  level: (g % 3) - 1,
  shift: 0.1 * (uniform() - 0.5),
}));
const cells = plots.flatMap(({ level, shift }, plot) =>
  [-1, -1, 1, 1].map((screw, c) => ({
    plot,
    level,
    screw,
    fan: c % 2 === 0 ? -1 : 1,
    y: 5 + 0.6 * screw + 0.5 * level * level + shift + 0.1 * (uniform() - 0.5),
  })),
);
const spec = Spec.parse({
  factors: ['level', 'screw', 'fan'].map((name) => ({ name, low: -1, high: 1 })),
  responses: [{ name: 'y', kind: 'continuous' }],
  wholePlot: 'plot',
});
const table = Object.fromEntries(
  (['plot', 'level', 'screw', 'fan', 'y'] as const).map((name) => [
    name,
    cells.map((cell) => cell[name]),
  ]),
);

describe('alternatives', () => {
  const choice = modelChoice({ spec, table, response: 'y' });
  if (choice.kind !== 'chosen') throw new Error(choice.says);
  const offered = names(modelTerms(spec.model, spec.factors));
  const told = alternatives(choice, offered, 2);

  it('says what all models that are nearly as good keep', () => {
    expect(told.inAll).toEqual(expect.arrayContaining(['level', 'screw', 'level²']));
    expect(told.says).toMatch(/within 2 of the best.*keep.*screw/);
    expect(told.models[0]!.behind).toBe(0);
    for (const model of told.models)
      expect(model.names).toEqual(expect.arrayContaining(told.inAll));
    for (const model of told.models)
      expect(told.inNone.some((name) => model.names.includes(name))).toBe(false);
  });

  it('compares models of split plots with the plots in', () => {
    expect(choice.remarks.at(-1)).toMatch(/variance between plots held at/);
  });
});

describe('modelChange', () => {
  const fitOf = (terms: readonly object[]) =>
    fitTable({ spec: { ...spec, wholePlot: undefined, model: { terms: terms as never } }, table })
      .responses[0]!;
  const whole = fitOf(modelTerms('quadratic', spec.factors));
  const without = fitOf([{}, { level: 1 }, { screw: 1 }, { level: 2 }]);

  it('says which terms went, and how the two compare', () => {
    const change = modelChange(whole, without);
    expect(change.dropped).toEqual(expect.arrayContaining(['fan', 'screw × fan']));
    expect(change.added).toEqual([]);
    expect(change.says[0]).toMatch(/^Now without /);
    expect(change.says[1]).toMatch(/^By AICc it is better by/);
    const aicc = change.figures.find(({ name }) => name === 'AICc')!;
    expect(aicc.before).toBe(whole.aicc);
    expect(aicc.after).toBe(without.aicc);
  });

  it('misses a term that was clear of zero', () => {
    const bare = fitOf([{}, { screw: 1 }]);
    expect(modelChange(without, bare).says.join(' ')).toMatch(/level² was clear of zero before/);
  });

  it('says so when nothing changed', () => {
    expect(modelChange(whole, whole).says[0]).toBe('The model is the same.');
  });
});
