import { type BarrelMaterial, type Changeover, changeover, familyMaterial } from './changeover.ts';
import { polymerFamily } from './family-table.ts';
import type { Line } from './line.ts';

/** Resins that may cool in a barrel and seal it against air, best first (common practice). */
export const sealMaterials = ['HDPE', 'PP', 'LDPE'] as const;

export interface ShutdownAdvice {
  /** May the material stay in the barrel while it cools? */
  readonly mayStay: 'yes' | 'short stop only' | 'no' | 'never';
  /** What is in the barrel in the end: to be written down for whoever comes next. */
  readonly leaves: string;
  /** How the seal resin gets in; null when nothing has to be purged. */
  readonly purge: Changeover | null;
  readonly steps: readonly string[];
}

/**
 * What to do at the end of the day: what may stay, what pushes the rest out, in which steps.
 *
 * @param resident - what is in the barrel: a family's name or a material
 */
export function shutdownAdvice(resident: string | BarrelMaterial, line: Line): ShutdownAdvice {
  const name = typeof resident === 'string' ? resident : resident.name;
  const family = polymerFamily(typeof resident === 'string' ? resident : resident.family);
  const material = typeof resident === 'string' ? (familyMaterial(resident) ?? resident) : resident;
  const parking = family?.parking;
  if (parking === 'may stay') {
    return { mayStay: 'yes', leaves: name, purge: null, steps: coolDown(name) };
  }
  const mayStay =
    parking === 'short only' ? 'short stop only' : parking === 'never' ? 'never' : 'no';
  const routes = sealMaterials.map((seal) => ({
    seal,
    route: changeover({ from: material, to: seal, line }),
  }));
  const found = routes.find(({ route }) => route.kind === 'route');
  const purge = (found ?? routes[0]!).route;
  if (!found || purge.kind === 'refused') {
    return { mayStay, leaves: name, purge, steps: withoutPurge(name, purge, parking === 'never') };
  }
  const steps = [
    'Close the hopper slide and run the hopper empty, but not the screw: keep the barrel full.',
    ...(purge.kind === 'route' ? purge.steps.map((step) => step.says) : []),
    'Collect purgings thin and flat, and quench them in water in a ventilated place.',
    ...coolDown(found.seal),
  ];
  return { mayStay, leaves: found.seal, purge, steps };
}

const coolDown = (inside: string): string[] => [
  'Slow the screw to keep its flights full, and stop the puller and spooler.',
  'Turn the heaters off, feed zone last; keep throat cooling on until the barrel is below 100 °C.',
  'Leave the nozzle clear and the guards on; do not stand in line with it while it cools.',
  `Write down what is in the barrel: ${inside}.`,
];

function withoutPurge(name: string, purge: Changeover, isNever: boolean): string[] {
  const why = purge.kind === 'refused' ? purge.says : '';
  return [
    `No seal resin can displace ${name} on this line. ${why}`.trim(),
    isNever
      ? `${name} must not be left hot and idle nor left to cool in the barrel: call the person in charge of the line before stopping.`
      : `Do not leave ${name} hot and idle: call the person in charge of the line before stopping.`,
    'Follow the machine manual for purging in stages or for mechanical cleaning.',
    `Write down what is in the barrel: ${name}.`,
  ];
}
