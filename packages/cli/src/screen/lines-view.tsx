import { Box, Text } from 'ink';
import type { Line } from '../terminal/line.ts';
import type { Role, Theme } from '../theme.ts';

const looks: Readonly<Record<Role, object>> = {
  plain: {},
  strong: { bold: true },
  quiet: { dimColor: true },
  good: { color: 'green' },
  warning: { color: 'yellow' },
  danger: { color: 'red', bold: true },
  changed: { color: 'cyan', bold: true },
  lowest: { color: 'blue' },
  low: { color: 'cyan' },
  middle: { color: 'white' },
  high: { color: 'yellow' },
  highest: { color: 'magenta' },
};

/** Without colour only weight is left; every difference also stands in the words. */
const looksPlain: Readonly<Record<Role, object>> = {
  plain: {},
  strong: { bold: true },
  quiet: {},
  good: {},
  warning: {},
  danger: { bold: true },
  changed: { bold: true },
  lowest: {},
  low: {},
  middle: {},
  high: {},
  highest: {},
};

/** Screen lines as they are. */
export function LinesView({
  lines,
  theme,
}: {
  readonly lines: readonly Line[];
  readonly theme: Theme;
}) {
  const look = theme.hasColour ? looks : looksPlain;
  return (
    <Box flexDirection="column">
      {lines.map((spans, i) => (
        <Text key={i} wrap="truncate">
          {spans.length === 0 || spans.every(({ text }) => text === '')
            ? ' '
            : spans.map(({ text, role }, j) => (
                <Text key={j} {...look[role]}>
                  {text}
                </Text>
              ))}
        </Text>
      ))}
    </Box>
  );
}
