import type { FoundStudy } from '../../workbench/found-studies.ts';

/** Every stage of the job by its name, and its papers, with the command that opens it. */
export const stageCommands: readonly {
  readonly stage: string;
  readonly says: string;
  readonly command: readonly string[];
}[] = [
  { stage: 'ready', says: 'before heating: dry, change over, start', command: ['ready'] },
  { stage: 'scout', says: 'bracket the window, propose ranges', command: ['scout'] },
  { stage: 'plan', says: 'which cells, hours and grams', command: ['plan', '--compare'] },
  { stage: 'sheet', says: 'the run sheet to print', command: ['sheet', '--all'] },
  { stage: 'walk', says: 'cell by cell at the line', command: ['walk'] },
  { stage: 'fit', says: 'what matters, where, how sure', command: ['fit'] },
  { stage: 'report', says: 'the page of pictures', command: ['report'] },
  { stage: 'confirm', says: 'fresh set-ups at the recipe', command: ['confirm'] },
  { stage: 'release', says: 'the signed recipe card', command: ['release'] },
  { stage: 'shutdown', says: 'what may cool, what must be purged', command: ['shutdown'] },
  { stage: 'show', says: 'where it stands, all entries', command: ['show'] },
];

export interface Workbench {
  readonly studies: readonly FoundStudy[];
  readonly at: number;
  readonly mode: 'studies' | 'stages' | 'naming';
  readonly stageAt: number;
  /** Name being typed for a new study. */
  readonly typed: string;
  readonly notice: string | null;
  readonly outcome: WorkbenchOutcome | null;
}

/** What the visitor chose: a command with its arguments, or to leave. */
export type WorkbenchOutcome =
  | { readonly kind: 'run'; readonly args: readonly string[]; readonly study: string | null }
  | { readonly kind: 'leave' };

export type WorkbenchIntent =
  | { readonly kind: 'move'; readonly by: 1 | -1 }
  | { readonly kind: 'open' }
  | { readonly kind: 'stages' }
  | { readonly kind: 'new' }
  | { readonly kind: 'demo' }
  | { readonly kind: 'practise' }
  | { readonly kind: 'library' }
  | { readonly kind: 'typed'; readonly text: string }
  | { readonly kind: 'erased' }
  | { readonly kind: 'back' }
  | { readonly kind: 'leave' };

export const openingWorkbench = (studies: readonly FoundStudy[]): Workbench => ({
  studies,
  at: 0,
  mode: 'studies',
  stageAt: 0,
  typed: '',
  notice: null,
  outcome: null,
});

/** The demo writes its study here, so that it is on the list afterwards. */
const demoArgs = ['demo', '--brief', '--folder', '.'];

/** Letters of the studies' screen with what they do, in the order of the foot. */
export const workbenchKeys: readonly (readonly [string, WorkbenchIntent, string])[] = [
  ['s', { kind: 'stages' }, 'any stage'],
  ['n', { kind: 'new' }, 'new study'],
  ['d', { kind: 'demo' }, 'demo'],
  ['v', { kind: 'practise' }, 'practise on the virtual line'],
  ['l', { kind: 'library' }, 'library'],
  ['q', { kind: 'leave' }, 'leave'],
];

const byLetter = new Map(workbenchKeys.map(([letter, intent]) => [letter, intent]));

export function workbenchIntent(
  { mode }: Workbench,
  key: {
    readonly input: string;
    readonly isReturn: boolean;
    readonly isEscape: boolean;
    readonly isUp: boolean;
    readonly isDown: boolean;
    readonly isBackspace: boolean;
    readonly isControl: boolean;
  },
): WorkbenchIntent | null {
  if (key.isControl) return key.input === 'c' ? { kind: 'leave' } : null;
  if (key.isReturn) return { kind: 'open' };
  if (key.isEscape) return { kind: 'back' };
  if (key.isUp) return { kind: 'move', by: -1 };
  if (key.isDown) return { kind: 'move', by: 1 };
  if (mode === 'naming') {
    if (key.isBackspace) return { kind: 'erased' };
    return key.input === '' ? null : { kind: 'typed', text: key.input };
  }
  if (key.input === 'k') return { kind: 'move', by: -1 };
  if (key.input === 'j') return { kind: 'move', by: 1 };
  return byLetter.get(key.input) ?? null;
}

/** The workbench after an intent; `outcome` is set when something is to be run. */
export function reduceWorkbench(screen: Workbench, intent: WorkbenchIntent): Workbench {
  const to = (change: Partial<Workbench>): Workbench => ({ ...screen, notice: null, ...change });
  const run = (...args: string[]): Workbench => to({ outcome: { kind: 'run', args, study: null } });
  switch (intent.kind) {
    case 'leave':
      return to({ outcome: { kind: 'leave' } });
    case 'back':
      return screen.mode === 'studies' ? screen : to({ mode: 'studies', typed: '' });
    case 'move':
      return moved(screen, intent.by);
    case 'open':
      return opened(screen);
    case 'stages':
      return chosen(screen)?.kind === 'study'
        ? to({ mode: 'stages', stageAt: 0 })
        : to({ notice: 'There is no study to open a stage of.' });
    case 'new':
      return to({ mode: 'naming', typed: '' });
    case 'demo':
      return run(...demoArgs);
    case 'practise':
      return run('virtual-line');
    case 'library':
      return run('library');
    case 'typed':
      return to({ typed: (screen.typed + intent.text).slice(0, 60) });
    case 'erased':
      return to({ typed: [...screen.typed].slice(0, -1).join('') });
  }
}

const chosen = ({ studies, at }: Workbench): FoundStudy | undefined => studies[at];

function moved(screen: Workbench, by: 1 | -1): Workbench {
  const inside = (value: number, count: number): number => Math.max(0, Math.min(count - 1, value));
  if (screen.mode === 'stages')
    return { ...screen, notice: null, stageAt: inside(screen.stageAt + by, stageCommands.length) };
  return { ...screen, notice: null, at: inside(screen.at + by, screen.studies.length) };
}

function opened(screen: Workbench): Workbench {
  const told = (notice: string): Workbench => ({ ...screen, notice });
  const run = ([verb, ...options]: readonly string[], path: string): Workbench => ({
    ...screen,
    notice: null,
    outcome: { kind: 'run', args: [verb!, path, ...options], study: path },
  });
  if (screen.mode === 'naming') {
    const name = screen.typed.trim();
    if (name === '') return told('Type a name for the new study, or press escape.');
    return { ...screen, outcome: { kind: 'run', args: ['new', name], study: null } };
  }
  const study = chosen(screen);
  if (!study) return { ...screen, outcome: { kind: 'run', args: demoArgs, study: null } };
  if (study.kind === 'unreadable') return told(`${study.shown}: ${study.says}`);
  if (screen.mode === 'stages') return run(stageCommands[screen.stageAt]!.command, study.path);
  return run(study.next.command ?? ['show'], study.path);
}
