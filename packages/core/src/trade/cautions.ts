import { polymerFamily } from './family-table.ts';
import type { Grade } from './grade.ts';
import { permission } from './permission.ts';

/** Moments of a day at the line at which something should be said. */
export const cautionMoments = [
  'before heating',
  'heat-up',
  'changeover',
  'walking',
  'failed cell',
  'shutdown',
] as const;
export type CautionMoment = (typeof cautionMoments)[number];

export interface Caution {
  readonly about:
    | 'standing'
    | 'hot surfaces'
    | 'melt under pressure'
    | 'fume'
    | 'overheating'
    | 'moving parts'
    | 'electrical'
    | 'material'
    | 'housekeeping'
    | 'check';
  readonly says: string;
}

/** Said at every moment: what these cautions are, and what comes before them. */
export const standingCaution: Caution = {
  about: 'standing',
  says: 'This tool plans; it does not control the machine and is not a safety system. The safety data sheet, the machine manual, local rules and trained supervision prevail.',
};

const hot: Caution = {
  about: 'hot surfaces',
  says: 'Barrel, die and nozzle burn, and melt sticks. Wear heat-resistant gloves, face and eye protection and sleeves. Do not pull melt off skin: cool it with water and get medical help.',
};
const pressure: Caution = {
  about: 'melt under pressure',
  says: 'A cold or blocked nozzle, or gas from overheated plastic, can throw out melt. Never stand or look in line with the nozzle.',
};
const fume: Caution = {
  about: 'fume',
  says: 'Heated plastic gives off fume: extraction on, hood close to the die.',
};
const moving: Caution = {
  about: 'moving parts',
  says: 'Rollers, spooler, cutter and screw draw in fingers, hair and sleeves. Guards on; thread the strand with a tool at low speed; nothing but pellets in the feed throat.',
};
const overheating: Caution = {
  about: 'overheating',
  says: 'Smell, smoke, discolouring, popping or rising pressure mean decomposition: lower the heat, keep clear, ventilate, purge with a stable resin if that is safe, call your supervisor.',
};
const idle: Caution = {
  about: 'overheating',
  says: 'Do not leave plastic hot and idle in the barrel, and do not leave the line unattended.',
};

const byMoment: Readonly<Record<CautionMoment, readonly Caution[]>> = {
  'before heating': [
    {
      about: 'check',
      says: 'Known what is in the barrel? An allowed pair with what comes next? Safety data sheets read? Extraction on? Guards on? Emergency stop in reach? Nozzle clear? A second person aware? A yes to all does not make it safe.',
    },
    {
      about: 'electrical',
      says: 'Heater bands carry mains voltage: earth and earth-leakage protection in order, covers closed, no liquids near.',
    },
    { about: 'housekeeping', says: 'Spilt pellets are slippery; fire extinguisher in reach.' },
    hot,
  ],
  'heat-up': [
    {
      about: 'melt under pressure',
      says: 'Bring the nozzle up first or together with the rest; never heat the middle of the barrel behind a frozen nozzle.',
    },
    {
      about: 'melt under pressure',
      says: 'Turn the screw only when every zone has stood at its set point for 15 to 30 min. Start at the lowest speed and watch torque.',
    },
    pressure,
    hot,
    fume,
  ],
  changeover: [
    {
      about: 'material',
      says: 'Empty and wipe hopper, throat and dryer as well: what is left there is fed later.',
    },
    {
      about: 'fume',
      says: 'Collect purgings thin and flat and quench them in water in a ventilated place.',
    },
    pressure,
    hot,
    fume,
    overheating,
  ],
  walking: [hot, pressure, moving, fume, idle],
  'failed cell': [
    {
      about: 'melt under pressure',
      says: 'No strand with the screw turning means melt under pressure behind the nozzle: stop the screw, keep out of line, let it settle before anything is touched.',
    },
    {
      about: 'melt under pressure',
      says: 'Do not raise the screw speed to clear a blockage. Stop and cool safely, following the manual, before opening anything.',
    },
    overheating,
    hot,
    moving,
  ],
  shutdown: [
    idle,
    {
      about: 'melt under pressure',
      says: 'Gas can build up behind a cooling nozzle: it may spit at the next start.',
    },
    {
      about: 'check',
      says: 'Write down what stays in the barrel: the next user needs it before heating.',
    },
    hot,
    moving,
  ],
};

/**
 * Cautions for a moment, the most pressing first, with what is particular to the grade.
 *
 * @source HSE Plastics Processing Sheet 13 (fume) and common practice of extrusion shops; wording ours
 */
export function cautions(
  moment: CautionMoment,
  grade?: Pick<Grade, 'name' | 'family' | 'hazards'>,
): Caution[] {
  const particular: Caution[] = [];
  if (grade) {
    const rule = permission(grade);
    if (rule.kind !== 'allowed') particular.push({ about: 'material', says: rule.says });
    const hazards = new Set([...grade.hazards, ...(polymerFamily(grade.family)?.hazards ?? [])]);
    if (hazards.size > 0)
      particular.push({ about: 'material', says: `${grade.name}: ${[...hazards].join('; ')}.` });
  }
  return [standingCaution, ...particular, ...byMoment[moment]];
}
