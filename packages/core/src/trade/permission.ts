import { polymerFamily } from './family-table.ts';

/** A named person's decision to run what is refused by default. It is recorded, not judged. */
export interface RunException {
  readonly by: string;
  readonly reason: string;
}

/**
 * May this material be run? `never`: nothing lifts it. `needs-exception`: a person with authority
 * must put their name to it. `warn`: allowed, with something to know first.
 */
export type Permission =
  | { readonly kind: 'allowed' }
  | { readonly kind: 'warn'; readonly says: string }
  | { readonly kind: 'needs-exception'; readonly says: string }
  | { readonly kind: 'excepted'; readonly says: string; readonly exception: RunException }
  | { readonly kind: 'never'; readonly says: string };

const askFirst = 'See its safety data sheet and ask your supervisor.';

const neverRun: Readonly<Record<string, string>> = {
  PVC: 'PVC gives off hydrogen chloride, corrodes the barrel and reacts violently with acetal residues.',
  PTFE: 'PTFE does not melt to a flowing state, and decomposes to toxic fume.',
};

const byException: Readonly<Record<string, string>> = {
  POM: 'Acetal gives off formaldehyde and its decomposition speeds itself up.',
  FEP: 'Fluoropolymers give off hydrogen fluoride and cause polymer fume fever; they need a corrosion-resistant barrel.',
  PFA: 'Fluoropolymers give off hydrogen fluoride and cause polymer fume fever; they need a corrosion-resistant barrel.',
  ETFE: 'Fluoropolymers give off hydrogen fluoride and cause polymer fume fever; they need a corrosion-resistant barrel.',
  PVDF: 'PVDF gives off hydrogen fluoride on decomposition, and some fillers set off a runaway.',
};

const withWarning: Readonly<Record<string, string>> = {
  TPU: 'Overheated TPU can give off isocyanates, a sensitiser.',
  PVA: 'PVA chars within minutes above 200 °C and may not stay in the barrel.',
  PC: 'PC may never cool in the barrel: it bonds to steel.',
  PEI: 'Surfaces above 320 °C; most seal resins do not stand these temperatures.',
  PSU: 'Surfaces above 320 °C; most seal resins do not stand these temperatures.',
  PEEK: 'Surfaces above 360 °C; residues of other polymers smoke at these temperatures.',
  ABS: 'Fume contains styrene, and traces of acrylonitrile and butadiene.',
  ASA: 'Fume contains styrene, acrylonitrile and acrylates.',
  PS: 'Fume contains styrene.',
};

/** Words in a name, family or hazard that mark material nobody can vouch for, or that needs advice. */
const unknownMixture = /\b(mixed|unknown|unidentified|unsorted)\b/i;
const recycled = /\b(recyclate|regrind|recycled|waste)\b/i;

/** True when name or family says that the material has been processed before. */
export const isRecycled = ({ name = '', family }: { name?: string; family: string }): boolean =>
  recycled.test(`${name} ${family}`);

const halogenated = /\b(halogen|brominated|chlorinated)/i;

/**
 * The rule for a material, from its family, name and hazards.
 *
 * @param exception - who has authorised it; lifts `needs-exception` only
 */
export function permission(
  material: {
    readonly name?: string;
    readonly family: string;
    readonly hazards?: readonly string[];
  },
  exception?: RunException,
): Permission {
  const rule = ruleFor(material);
  const isSigned = exception && exception.by.trim() !== '' && exception.reason.trim() !== '';
  if (rule.kind === 'needs-exception' && isSigned) {
    return { kind: 'excepted', says: rule.says, exception };
  }
  return rule;
}

function ruleFor(material: Parameters<typeof permission>[0]): Permission {
  const words = [material.name ?? '', material.family, ...(material.hazards ?? [])].join(' ');
  const family = polymerFamily(material.family)?.family;
  const never = family && neverRun[family];
  if (never) return { kind: 'never', says: `${never} It is not run on this line.` };
  if (unknownMixture.test(words)) {
    const says = `Unknown or mixed material is refused until it is identified. ${askFirst}`;
    return { kind: 'never', says };
  }
  const excepted = family && byException[family];
  if (excepted) {
    const says = `${excepted} This material is on the excluded list. ${askFirst}`;
    return { kind: 'needs-exception', says };
  }
  if (halogenated.test(words)) {
    const says = `Halogenated flame retardants need specialist equipment and advice. ${askFirst}`;
    return { kind: 'needs-exception', says };
  }
  if (!family) {
    const says = `No rules are held for "${material.family}". ${askFirst}`;
    return { kind: 'needs-exception', says };
  }
  if (recycled.test(words)) {
    const says = `Recycled material may hold other polymers and additives: be sure of its source, and dry it half as long again. ${askFirst}`;
    return { kind: 'warn', says };
  }
  const warning = withWarning[family];
  return warning ? { kind: 'warn', says: warning } : { kind: 'allowed' };
}

/** True when the rule lets the material be run. */
export const isRunnable = ({ kind }: Permission): boolean =>
  kind === 'allowed' || kind === 'warn' || kind === 'excepted';

export type MixRule =
  | { readonly kind: 'never'; readonly says: string }
  | { readonly kind: 'warn'; readonly says: string };

/** Families whose residues give off hydrogen fluoride when overheated. */
export const fluoropolymers: readonly string[] = ['PVDF', 'FEP', 'PFA', 'ETFE', 'PTFE'];
const pairs: readonly (readonly [readonly string[], readonly string[], MixRule])[] = [
  [
    ['POM'],
    ['PVC'],
    {
      kind: 'never',
      says: 'Acetal and PVC must never share a machine, dryer, hopper or grinder: the pair decomposes violently. No purge makes it safe.',
    },
  ],
  [
    ['PVC'],
    ['PC', 'PA6', 'PA66', 'PA12', 'PLA', 'PLA amorphous', 'PET', 'PETG', 'PBT', 'TPU'],
    {
      kind: 'never',
      says: 'Acid from PVC residues breaks this polymer down. Clean mechanically before it is run.',
    },
  ],
  [
    ['PVC'],
    fluoropolymers,
    { kind: 'never', says: 'Two acid-forming materials must not meet in one barrel.' },
  ],
  [
    ['POM'],
    fluoropolymers,
    {
      kind: 'never',
      says: 'Acid traces from fluoropolymers set off the decomposition of acetal. Clean mechanically.',
    },
  ],
  [
    ['PA6', 'PA66', 'PA12'],
    ['PEEK', 'PEI', 'PSU'],
    {
      kind: 'warn',
      says: 'Polyamide residues smoke at these temperatures: be sure that none is left.',
    },
  ],
  [
    ['PA6', 'PA66', 'PA12'],
    ['PET', 'PBT', 'PETG', 'PC'],
    {
      kind: 'warn',
      says: 'Traces of polyamide react with polyesters: discard the first strand generously.',
    },
  ],
];

/** The rule for two materials that meet in a barrel, whichever comes first; null when none is known. */
export function mixRule(a: string, b: string): MixRule | null {
  const first = polymerFamily(a)?.family ?? a;
  const second = polymerFamily(b)?.family ?? b;
  for (const [left, right, rule] of pairs) {
    const isPair =
      (left.includes(first) && right.includes(second)) ||
      (left.includes(second) && right.includes(first));
    if (isPair) return rule;
  }
  return null;
}
