import { useStdout } from 'ink';
import { useEffect, useState } from 'react';
import type { Size } from './walk/lines.ts';

/** Columns and rows of the terminal, following it when it is resized. */
export function useWindowSize(): Size {
  const { stdout } = useStdout();
  const read = (): Size => ({ columns: stdout.columns || 80, rows: stdout.rows || 24 });
  const [size, setSize] = useState(read);
  useEffect(() => {
    const follow = (): void => setSize(read());
    stdout.on('resize', follow);
    return () => void stdout.off('resize', follow);
  });
  return size;
}
