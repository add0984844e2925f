import { DomainError } from '../error/domain-error.ts';
import { designFamilies } from './family.ts';

/** A family and its options as they are known here. */
export interface WishedFamily {
  readonly family: string;
  readonly options: Readonly<Record<string, unknown>>;
}

/** Letters and digits alone, with one spelling of "centre". */
const plain = (text: string): string =>
  text
    .toLowerCase()
    .replace(/[^a-z0-9]/g, '')
    .replaceAll('centered', 'centred')
    .replaceAll('center', 'centre');

/** Other names that the trade's texts use for a family, and the options that a name stands for. */
const otherNames: readonly (readonly [
  names: string,
  family: string,
  options?: Readonly<Record<string, unknown>>,
])[] = [
  [
    'factorial, complete factorial, two-level factorial, general factorial, mixed-level factorial',
    'full factorial',
  ],
  [
    'fraction, fractional, two-level fraction, regular fraction, two-level fractional factorial, minimum aberration',
    'fractional factorial',
  ],
  ['pb', 'plackett-burman'],
  ['dsd', 'definitive screening'],
  [
    'composite, ccd, ccc, circumscribed, central composite circumscribed, box-wilson',
    'central composite',
  ],
  ['cci, inscribed, central composite inscribed', 'central composite', { inscribed: true }],
  [
    'ccf, face-centred, face-centred central composite, central composite face-centred',
    'central composite',
    { alpha: 'face-centred' },
  ],
  ['bbd', 'box-behnken'],
  ['latin hypercube, maximin latin hypercube, lhs, lhd', 'space filling'],
  ['split-plot, optimal split-plot', 'optimal'],
  ['d-optimal', 'optimal', { criterion: 'D' }],
  ['a-optimal', 'optimal', { criterion: 'A' }],
  ['i-optimal, v-optimal, iv-optimal', 'optimal', { criterion: 'I' }],
];

/** Other names of options, by the option's own. */
const otherOptions: Readonly<Record<string, string>> = {
  centrePoints:
    'centre points, centres, centre runs, centre point, number of centre points, n centre',
  replicates: 'replicate, replications, reps',
  runs: 'n, n runs, run count, number of runs, size',
  blocks: 'n blocks, number of blocks',
  resolution: 'res',
  alpha: 'axial, axial distance, star distance, axial spacing',
  criterion: 'optimality',
  wholePlots: 'n whole plots, number of whole plots',
  cells: 'runs per whole plot, whole plot size, cells per whole plot, sub-plots',
  starts: 'random starts, n starts, tries',
};

/** What `alpha` may be called besides the rules' own names. */
const alphaNames: Readonly<Record<string, string>> = {
  face: 'face-centred',
  facecentred: 'face-centred',
  faced: 'face-centred',
  ccf: 'face-centred',
  orthogonal: 'orthogonal quadratics',
  orthogonalquadratic: 'orthogonal quadratics',
  orthogonalblock: 'orthogonal blocks',
  orthogonalblocking: 'orthogonal blocks',
};

const romans = ['I', 'II', 'III', 'IV', 'V', 'VI', 'VII', 'VIII', 'IX', 'X'];

/**
 * A family and its options as asked for in the words of the trade: "Central-Composite", "CCF" with
 * "center points", "D-optimal", resolution "IV". What is not understood is passed on unchanged, for
 * the family to refuse by name.
 */
export function wishedFamily(
  name: string,
  options: Readonly<Record<string, unknown>> = {},
): WishedFamily {
  const [family, implied] = familyCalled(name);
  const known = designFamilies.find((candidate) => candidate.name === family);
  if (!known) return { family: name, options };
  const own = Object.keys(known.options.shape);
  const taken: Record<string, unknown> = { ...implied };
  const askedAs = new Map<string, string>();
  for (const [asked, value] of Object.entries(options)) {
    const key = optionCalled(asked, own);
    const before = askedAs.get(key);
    if (before !== undefined) throw askedTwice(known.name, key, [before, asked]);
    askedAs.set(key, asked);
    taken[key] = valueCalled(key, value);
  }
  return { family, options: blocksTaken(family, own, taken) };
}

function familyCalled(name: string): readonly [string, Readonly<Record<string, unknown>>] {
  const asked = plain(name).replace(/(designs?|plans?)$/, '');
  const known = designFamilies.find((family) => plain(family.name) === asked);
  if (known) return [known.name, {}];
  const other = otherNames.find(([names]) => names.split(', ').map(plain).includes(asked));
  return other ? [other[1], other[2] ?? {}] : [name, {}];
}

function optionCalled(asked: string, own: readonly string[]): string {
  if (own.includes(asked)) return asked;
  const same = own.find((key) => plain(key) === plain(asked));
  if (same) return same;
  const other = Object.entries(otherOptions).find(([, names]) =>
    names.split(', ').map(plain).includes(plain(asked)),
  );
  // The blocks of a composite and of a Box-Behnken plan have options of their own; see below.
  return other && (own.includes(other[0]) || other[0] === 'blocks') ? other[0] : asked;
}

function valueCalled(key: string, value: unknown): unknown {
  if (typeof value !== 'string') return value;
  if (key === 'alpha') return alphaNames[plain(value)] ?? value.trim().toLowerCase();
  if (key === 'criterion')
    return plain(value)
      .replace(/optimal(ity)?$/, '')
      .toUpperCase();
  if (key === 'resolution') {
    const at = romans.indexOf(value.trim().toUpperCase());
    return at < 0 ? value : at + 1;
  }
  return value;
}

/** A plain number of blocks for families that say it in another way. */
function blocksTaken(
  family: string,
  own: readonly string[],
  { blocks, ...others }: Record<string, unknown>,
): Readonly<Record<string, unknown>> {
  if (blocks === undefined || own.includes('blocks'))
    return blocks === undefined ? others : { ...others, blocks };
  if (family === 'central composite' && typeof blocks === 'number' && blocks > 1)
    return { cubeBlocks: blocks - 1, ...others };
  if (family === 'box-behnken' && typeof blocks === 'boolean')
    return { blocked: blocks, ...others };
  if (blocks === 1) return others;
  return { ...others, blocks };
}

function askedTwice(family: string, key: string, as: readonly string[]): DomainError {
  return new DomainError(
    'option_twice',
    `designOf: option "${key}" of family "${family}" must be given once; got ${as.map((name) => `"${name}"`).join(' and ')}. Leave one out.`,
    { family, option: key },
  );
}
