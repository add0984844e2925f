import {
  barrelMaterial,
  type DryingAdvice,
  dryingAdvice,
  type Readiness,
  readiness,
  type StudyState,
} from '@strandwise/core';

/** One thing to be sure of before heating. */
export type Gate =
  | {
      readonly kind: 'sure';
      readonly name: string;
      readonly asks: string;
      /** What to do when it is not so. */
      readonly otherwise: string;
    }
  | {
      readonly kind: 'tell';
      readonly name: string;
      readonly asks: string;
      readonly key: 'barrel' | 'dried' | 'since' | 'wet why';
      readonly suggestion: string;
    }
  /** Nothing may be heated. */
  | { readonly kind: 'refused'; readonly name: string; readonly says: readonly string[] };

/** Answers so far, in the order of the gates: words typed, or "yes". */
export type GateAnswers = readonly string[];

const sure = (name: string, asks: string, otherwise: string): Gate => ({
  kind: 'sure',
  name,
  asks,
  otherwise,
});

/** Common practice before each session, no source. Ticking does not make it safe. */
const standing: readonly Gate[] = [
  sure(
    'papers and people',
    'Safety data sheets of this grade and of what is in the barrel read, and a second person knows that you are here?',
    'Read them and tell somebody first.',
  ),
  sure(
    'guards and stop',
    'Guards on, emergency stop in reach, covers of mains heaters closed, floor free of pellets, fire extinguisher in reach?',
    'Put that right before anything is switched on.',
  ),
  sure(
    'fume',
    'Extraction on, with the hood close to the die?',
    'Switch the extraction on; without it nothing is heated.',
  ),
  sure(
    'nozzle',
    'Nozzle clear, nobody in line with it, and will it be heated first or with the rest? A cold nozzle in front of hot melt can throw it out.',
    'Clear it cold, following the manual. Never heat the barrel behind a frozen nozzle.',
  ),
  sure(
    'puller and spooler',
    'Sleeves and hair away, strand threaded by tool, spooler slip set so that it cannot tug the strand?',
    'Set the slip and thread at low speed; a spooler that tugs also spoils the readings.',
  ),
];

/** The answers that are typed, found again by their gate. */
export interface GateFacts {
  readonly barrel: string | null;
  readonly driedHours: number | null;
  readonly sinceHours: number | null;
}

export const isNotDried = (text: string): boolean => /^(no|not|none|0|-)?$/i.test(text.trim());

/** A number that a person typed, or NaN. */
export const typedNumber = (text: string): number =>
  text.trim() === '' ? Number.NaN : Number(text.trim().replace(',', '.'));

export function gateFacts(answers: GateAnswers): GateFacts {
  const [barrel = null, dried, since] = answers.slice(standing.length);
  const hours = dried === undefined || isNotDried(dried) ? null : typedNumber(dried);
  return {
    barrel,
    driedHours: hours,
    sinceHours: hours === null || since === undefined ? null : typedNumber(since),
  };
}

/** What the barrel's content means for this grade. */
export function barrelReadiness(study: StudyState, barrel: string): Readiness {
  const { grade, line } = study.opened;
  const exception = study.exceptions.find(
    ({ material }) => material.toLowerCase() === grade.name.toLowerCase(),
  );
  return readiness({
    grade,
    line,
    barrel: barrelMaterial(barrel, [grade]),
    ...(exception ? { exception: { by: exception.by, reason: exception.reason } } : {}),
  });
}

/**
 * The gates for the answers so far: later ones depend on what was said, as a changeover does on what
 * the barrel holds. Walked in order; when every one is answered, the line may be heated.
 */
export function gates(study: StudyState, answers: GateAnswers): Gate[] {
  const { grade } = study.opened;
  const out: Gate[] = [...standing];
  out.push({
    kind: 'tell',
    name: 'barrel',
    key: 'barrel',
    asks: `What plastic is in the barrel now? A family such as HDPE, "clean", or "${grade.name}" if it is this grade.`,
    suggestion: study.barrelHolds ?? '',
  });
  const barrel = answers[standing.length];
  if (barrel === undefined) return out;
  const ready = barrelReadiness(study, barrel);
  if (ready.verdict === 'refused') {
    out.push({ kind: 'refused', name: 'changeover', says: ready.refusals });
    return out;
  }
  out.push(...dryingGates(study, answers));
  if (ready.changeover.kind === 'route') {
    const { steps } = ready.changeover;
    for (const [i, step] of steps.entries()) {
      out.push(
        sure(
          steps.length === 1 ? 'changeover' : `changeover ${i + 1} of ${steps.length}`,
          `${step.says} ${step.warnings.join(' ')} Done, and the strand looks like ${step.to} alone?`,
          'Go on flushing until nothing of the old plastic is seen. Empty and wipe hopper and throat as well.',
        ),
      );
    }
  }
  return out;
}

function dryingGates(study: StudyState, answers: GateAnswers): Gate[] {
  const { grade } = study.opened;
  const advice = dryingAdvice(grade);
  const at = standing.length + 1;
  const out: Gate[] = [
    {
      kind: 'tell',
      name: 'dried',
      key: 'dried',
      asks: `For how many hours were the pellets dried? "no" if not. ${advice.says}`,
      suggestion: '',
    },
  ];
  const dried = answers[at];
  if (dried === undefined) return out;
  if (!isNotDried(dried)) {
    out.push({
      kind: 'tell',
      name: 'since drying',
      key: 'since',
      asks: 'How many hours ago did they leave the dryer? 0 if they are dried in place.',
      suggestion: '0',
    });
    if (answers[at + 1] === undefined) return out;
  }
  const doubt = dryingDoubt(advice, gateFacts(answers));
  if (doubt !== null) {
    out.push({
      kind: 'tell',
      name: 'moisture',
      key: 'wet why',
      asks: `${doubt} Dry again, or say why you go on; it stands in the record.`,
      suggestion: '',
    });
  }
  return out;
}

/** What speaks against the pellets being dry, or null. */
export function dryingDoubt(
  advice: DryingAdvice,
  { driedHours, sinceHours }: Pick<GateFacts, 'driedHours' | 'sinceHours'>,
): string | null {
  if (advice.kind === 'not-needed') return null;
  if (advice.kind === 'unknown') {
    return driedHours === null ? 'Nobody knows how dry these pellets are.' : null;
  }
  if (driedHours === null)
    return `Not dried; ${advice.hours} h at ${advice.celsius} °C are asked for. Bubbles will rule every other effect.`;
  if (driedHours < advice.hours)
    return `Dried for ${driedHours} h; ${advice.hours} h are asked for.`;
  const lasts = advice.staysDryHours;
  if (lasts !== null && sinceHours !== null && sinceHours > lasts)
    return `Out of the dryer for ${sinceHours} h; in an open hopper they stay dry for about ${lasts.toFixed(1)} h.`;
  return null;
}

/** Where the answered gates end: the next gate to answer, or null when all are. */
export function nextGate(study: StudyState, answers: GateAnswers): Gate | null {
  return gates(study, answers)[answers.length] ?? null;
}
