import type { Pressed } from '../../../packages/cli/src/screen/walk/keys.ts';
import type { WalkSession } from '../../../packages/cli/src/screen/walk/session.ts';

/** Presses keys: words of one letter, or `enter`, `esc`, `back`, `space`; what stands in "…" is typed. */
export function pressAll(session: WalkSession, keys: string): void {
  for (const [, quoted, word] of keys.matchAll(/"([^"]*)"|(\S+)/g)) {
    if (quoted !== undefined) for (const letter of quoted) session.press(pressed(letter));
    else session.press(pressed(word!));
  }
}

const named: Readonly<Record<string, Partial<Pressed>>> = {
  enter: { isReturn: true },
  esc: { isEscape: true },
  back: { isBackspace: true },
  space: { input: ' ' },
};

function pressed(word: string): Pressed {
  return {
    input: word.length === 1 ? word : '',
    isReturn: false,
    isEscape: false,
    isBackspace: false,
    isControl: false,
    ...named[word],
  };
}
