import { type Key, useInput } from 'ink';

/** One key as pressed. A terminal may deliver several at once, as when text is pasted. */
export interface KeyPress {
  readonly input: string;
  readonly key: Key;
}

const arrowKeys: Readonly<Record<string, Partial<Key>>> = {
  A: { upArrow: true },
  B: { downArrow: true },
  C: { rightArrow: true },
  D: { leftArrow: true },
};

/**
 * Keys one by one, in the order they were pressed. A chunk that holds a line end among other
 * letters, or several arrows, is taken apart, so that pasted or fast typing means the same as slow
 * typing.
 */
export function keyPresses(input: string, key: Key): KeyPress[] {
  // An arrow comes as escape, bracket, letter; the first escape is gone already.
  const pieces = input.split('\u001B').filter((piece) => piece !== '');
  if (pieces.length > 0 && pieces.every((piece) => /^\[[ABCD]$/.test(piece)))
    return pieces.map((piece) => ({ input: '', key: { ...key, ...arrowKeys[piece[1]!] } }));
  if (input.length < 2 || !/[\r\n\u007F\b]/.test(input)) return [{ input, key }];
  const plain: Key = { ...key, return: false, backspace: false, delete: false };
  return [...input.replaceAll('\r\n', '\r')].map((letter) => {
    if (letter === '\r' || letter === '\n') return { input: '', key: { ...plain, return: true } };
    if (letter === '\u007F' || letter === '\b')
      return { input: '', key: { ...plain, backspace: true } };
    return { input: letter, key: plain };
  });
}

/**
 * Calls back for each key press. The callback must read its state from a ref or by an updater:
 * several presses may come before the next drawing.
 */
export function useKeyPresses(onPress: (press: KeyPress) => void): void {
  useInput((input, key) => {
    for (const press of keyPresses(input, key)) onPress(press);
  });
}

/**
 * The same letter by letter, for screens whose keys are letters: keys pressed fast arrive together,
 * and each is one press.
 */
export function singlePresses(input: string, key: Key): KeyPress[] {
  return keyPresses(input, key).flatMap((press) =>
    [...press.input].length <= 1
      ? [press]
      : [...press.input].map((letter) => ({ input: letter, key: press.key })),
  );
}

/** As `useKeyPresses`, letter by letter. */
export function useSinglePresses(onPress: (press: KeyPress) => void): void {
  useInput((input, key) => {
    for (const press of singlePresses(input, key)) onPress(press);
  });
}
