import { polymerFamily } from './family-table.ts';
import type { Grade } from './grade.ts';
import { heaterMarginCelsius } from './limits.ts';
import type { Line } from './line.ts';
import { meanResidenceMinutes } from './output.ts';
import {
  fluoropolymers,
  isRunnable,
  mixRule,
  permission,
  type RunException,
} from './permission.ts';

/** A material as the barrel sees it: it is only ever between floor and ceiling while in there. */
export interface BarrelMaterial {
  readonly name: string;
  readonly family: string;
  readonly floorCelsius: number;
  readonly ceilingCelsius: number;
  readonly meltDensityGPerCm3: number;
}

/** One displacement: the barrel is brought to `celsius`, where both melts are sound, and flushed. */
export interface ChangeoverStep {
  readonly from: string;
  readonly to: string;
  readonly celsius: number;
  /** Temperatures at which both are within their windows. */
  readonly window: readonly [number, number];
  readonly barrelVolumes: number;
  readonly grams: number;
  readonly minutes: number;
  readonly says: string;
  readonly warnings: readonly string[];
}

export type ChangeoverRefusal =
  | 'unknown_material'
  | 'never_run'
  | 'needs_exception'
  | 'never_mix'
  | 'no_route'
  | 'heater_limit';

export type Changeover =
  | {
      readonly kind: 'route';
      /** Empty when the barrel is clean. */
      readonly steps: readonly ChangeoverStep[];
      readonly grams: number;
      readonly minutes: number;
    }
  | { readonly kind: 'refused'; readonly code: ChangeoverRefusal; readonly says: string };

/**
 * Materials used to push another out, by family: common purge and seal resins, the more usual first
 * (common practice, no source). Of chains that cost the same the first is taken.
 */
export const transitionMaterials = ['HDPE', 'PP', 'LDPE', 'PS', 'PC', 'PEI'] as const;

/** Least overlap of two windows for one melt to displace the other, °C (common practice, no source). */
export const leastOverlapCelsius = 10;
/** Barrel volumes a displacement takes: about 99 % of the old melt in an ideal screw is gone at 3.3. */
const purgeVolumes = 4;
const purgeRpm = 5;
/** Handling between steps: empty and wipe hopper and throat, collect purgings. */
const handlingMinutes = 10;

/** The generic material of a family; undefined when unknown or not melt-processable. */
export function familyMaterial(name: string): BarrelMaterial | undefined {
  const family = polymerFamily(name);
  if (!family?.barrelCelsius) return undefined;
  return {
    name: family.family,
    family: family.family,
    floorCelsius: family.barrelCelsius[0],
    ceilingCelsius: family.ceilingCelsius,
    meltDensityGPerCm3: family.meltDensityGPerCm3[0],
  };
}

/** A grade as the barrel sees it. */
export const gradeMaterial = (grade: Grade): BarrelMaterial => ({
  name: grade.name,
  family: grade.family,
  floorCelsius: grade.floorCelsius,
  ceilingCelsius: grade.ceilingCelsius,
  meltDensityGPerCm3: grade.meltDensityGPerCm3,
});

export interface ChangeoverOf {
  /** What is in the barrel: a family's name or a material; null when it has been cleaned. */
  readonly from: string | BarrelMaterial | null;
  readonly to: string | BarrelMaterial;
  readonly line: Line;
  /** Families run since the last mechanical cleaning: their traces count for dangerous pairs. */
  readonly runBefore?: readonly string[];
  readonly exception?: RunException;
}

/**
 * How to bring one material into a barrel that holds another: directly, or through the cheapest chain
 * of transition materials whose windows overlap by at least 10 °C, or not at all.
 *
 * The cost of a step is its material and its time; a chain is found by shortest path. Each step runs
 * at a temperature inside both windows, so nothing is ever heated past its ceiling or cooled below
 * its floor while it is in the barrel. Dangerous pairs are refused whatever lies between.
 *
 * @source windows: data sheet or the family table; the rule of overlap: common practice, no source
 */
export function changeover(options: ChangeoverOf): Changeover {
  const { from, to, line } = options;
  const target = materialOf(to);
  const resident = from === null ? null : materialOf(from);
  const refusal = refusalOf(options, resident);
  if (refusal) return refusal;
  if (!target) {
    const says = `"${nameOf(to)}" has no melt window on record. Give its floor and ceiling from the data sheet.`;
    return { kind: 'refused', code: 'unknown_material', says };
  }
  const hottest = hottestSetPoint(line);
  if (target.floorCelsius > hottest) {
    const says = `${target.name} needs at least ${target.floorCelsius} °C; the heaters of this line allow ${hottest} °C.`;
    return { kind: 'refused', code: 'heater_limit', says };
  }
  if (!resident) return { kind: 'route', steps: [], grams: 0, minutes: 0 };
  const chain = cheapestChain(resident, target, line);
  if (chain) return route(chain);
  const says = `No chain of transition materials joins ${resident.name} (${windowWords(resident)}) and ${target.name} (${windowWords(target)}) with windows that overlap by ${leastOverlapCelsius} °C on this line. Take screw and barrel out and clean them mechanically, following the machine's manual.`;
  return { kind: 'refused', code: 'no_route', says };
}

const materialOf = (material: string | BarrelMaterial): BarrelMaterial | undefined =>
  typeof material === 'string' ? familyMaterial(material) : material;
const nameOf = (material: string | BarrelMaterial): string =>
  typeof material === 'string' ? material : material.name;
const familyOf = (material: string | BarrelMaterial): string =>
  typeof material === 'string' ? material : material.family;

function refusalOf(
  { from, to, runBefore = [], exception }: ChangeoverOf,
  resident: BarrelMaterial | null | undefined,
): Changeover | null {
  const refused = (code: ChangeoverRefusal, says: string): Changeover => ({
    kind: 'refused',
    code,
    says,
  });
  const wanted = permission({ family: familyOf(to), name: nameOf(to) }, exception);
  if (wanted.kind === 'never') return refused('never_run', wanted.says);
  const before = from === null ? [] : [familyOf(from)];
  for (const earlier of [...before, ...runBefore]) {
    const rule = mixRule(earlier, familyOf(to));
    if (rule?.kind === 'never') return refused('never_mix', rule.says);
  }
  if (!isRunnable(wanted) && 'says' in wanted) return refused('needs_exception', wanted.says);
  if (from !== null) {
    const present = permission({ family: familyOf(from), name: nameOf(from) });
    if (present.kind === 'never') {
      const says = `The barrel holds ${nameOf(from)}. ${present.says} Do not heat it; ask your supervisor how it is to be cleaned out.`;
      return refused('never_run', says);
    }
    if (fluoropolymers.includes(polymerFamily(familyOf(from))?.family ?? '') && !exception) {
      const says = `The barrel holds ${nameOf(from)}, whose residues give off toxic fume when overheated. Purging it needs specialist advice; ask your supervisor.`;
      return refused('needs_exception', says);
    }
    if (!resident) {
      const says = `What is in the barrel, "${nameOf(from)}", is not known here. Do not heat it before it is identified; ask your supervisor.`;
      return refused('unknown_material', says);
    }
  }
  return null;
}

const hottestSetPoint = ({ zones }: Line): number =>
  Math.min(...zones.map((zone) => zone.heaterLimitCelsius)) - heaterMarginCelsius;

/** Temperatures inside both windows and the heaters' limit; null when the overlap is too thin. */
function overlap(
  a: BarrelMaterial,
  b: BarrelMaterial,
  line: Line,
): readonly [number, number] | null {
  const low = Math.max(a.floorCelsius, b.floorCelsius);
  const high = Math.min(a.ceilingCelsius, b.ceilingCelsius, hottestSetPoint(line));
  return high - low >= leastOverlapCelsius ? [low, high] : null;
}

function stepBetween(from: BarrelMaterial, to: BarrelMaterial, line: Line): ChangeoverStep | null {
  const window = overlap(from, to, line);
  if (!window) return null;
  const rule = mixRule(from.family, to.family);
  if (rule?.kind === 'never') return null;
  // A third of the way up: melted through, and well short of the hotter end.
  const celsius = Math.round(window[0] + (window[1] - window[0]) / 3);
  const volume = purgeVolumes * line.holdUpCm3;
  const grams = Math.round(volume * to.meltDensityGPerCm3);
  const minutes = Math.round(
    handlingMinutes +
      purgeVolumes * meanResidenceMinutes(line, Math.min(purgeRpm, line.screw.highRpm)),
  );
  const says = `Bring every zone to ${celsius} °C (between ${window[0]} and ${window[1]} °C) with ${from.name} still in the barrel, then feed ${to.name}: ${purgeVolumes} barrel volumes, about ${grams} g. Do not run the barrel empty in between.`;
  const warnings = rule ? [rule.says] : [];
  return {
    from: from.name,
    to: to.name,
    celsius,
    window,
    barrelVolumes: purgeVolumes,
    grams,
    minutes,
    says,
    warnings,
  };
}

/** Minutes that a warning is worth: a chain around a doubtful pair is taken when it costs less. */
const minutesPerWarning = 45;
/** Minutes that a barrel volume of material is worth. */
const minutesPerVolume = 5;

/** Dijkstra on the few materials there are. */
function cheapestChain(
  from: BarrelMaterial,
  to: BarrelMaterial,
  line: Line,
): ChangeoverStep[] | null {
  const between = transitionMaterials
    .map((name) => familyMaterial(name)!)
    .filter(({ family }) => family !== from.family && family !== to.family)
    .filter(({ family }) => mixRule(family, from.family)?.kind !== 'never')
    .filter(({ family }) => mixRule(family, to.family)?.kind !== 'never');
  const nodes = [from, ...between, to];
  const cost = nodes.map((_, i) => (i === 0 ? 0 : Number.POSITIVE_INFINITY));
  const through: (ChangeoverStep[] | null)[] = nodes.map((_, i) => (i === 0 ? [] : null));
  const open = new Set(nodes.keys());
  while (open.size > 0) {
    const here = [...open].reduce((a, b) => (cost[b]! < cost[a]! ? b : a));
    open.delete(here);
    if (!through[here]) break;
    if (nodes[here] === to) return through[here];
    for (const next of open) {
      const step = stepBetween(nodes[here]!, nodes[next]!, line);
      if (!step) continue;
      const spent =
        step.minutes +
        minutesPerVolume * step.barrelVolumes +
        minutesPerWarning * step.warnings.length;
      if (cost[here]! + spent >= cost[next]!) continue;
      cost[next] = cost[here]! + spent;
      through[next] = [...through[here]!, step];
    }
  }
  return null;
}

function route(steps: readonly ChangeoverStep[]): Changeover {
  const sum = (of: (step: ChangeoverStep) => number): number =>
    steps.reduce((total, step) => total + of(step), 0);
  return {
    kind: 'route',
    steps,
    grams: sum((step) => step.grams),
    minutes: sum((step) => step.minutes),
  };
}

const windowWords = ({ floorCelsius, ceilingCelsius }: BarrelMaterial): string =>
  `${floorCelsius} to ${ceilingCelsius} °C`;
