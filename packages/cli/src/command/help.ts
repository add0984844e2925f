import { wrapped } from '../terminal/line.ts';
import { type Command, everyOption, type Option } from './command.ts';

/** Manual pages are read at any width; they are set for the narrowest usual one. */
const helpColumns = 80;

/** The stages of the job with their commands, for someone who has just arrived. */
export function overview(commands: readonly Command[], columns = 80): string {
  const width = Math.max(...commands.map(({ name }) => name.length));
  const list = commands.flatMap(({ name, summary }) =>
    wrapped(summary, columns - width - 4).map(
      (text, i) => `  ${(i === 0 ? name : '').padEnd(width)}  ${text}`,
    ),
  );
  return [
    'strandwise plans, walks and reads the experiments that qualify a polymer grade',
    'on a benchtop filament line.',
    '',
    'usage: strandwise COMMAND …     strandwise help COMMAND shows one with an example',
    '',
    ...list,
    '',
    'Exit codes: 0 done, 1 the data say no, 2 bad use or bad input, 3 machine fault.',
    'Strandwise tells people what to set; it never drives heaters or motors. The',
    "safety data sheet, the machine's manual, local rules and trained supervision come",
    'first.',
  ].join('\n');
}

export function commandHelp(command: Command): string {
  const options = Object.entries({ ...command.options, ...everyOption });
  const heads = options.map(([name, option]) => optionHead(name, option));
  const width = Math.max(...heads.map(({ length }) => length));
  return [
    ...wrapped(`strandwise ${command.name}: ${command.summary}`, helpColumns),
    '',
    ...usageLines(command.usage),
    '',
    'example:',
    `  ${command.example.line}`,
    ...wrapped(command.example.says, helpColumns, 6),
    '',
    'options:',
    ...options.flatMap(([, { says }], i) =>
      wrapped(says, Math.max(30, helpColumns - width - 4)).map(
        (text, row) => `  ${(row === 0 ? heads[i]! : '').padEnd(width)}  ${text}`,
      ),
    ),
  ].join('\n');
}

/** One line a way of use; the ways of one command stand under each other. */
function usageLines(usage: string): string[] {
  return usage.split(/ {3}\| {3}/).flatMap((way, i) => {
    return wrapped(`strandwise ${way}`, helpColumns, 7).map((words, row) =>
      i === 0 && row === 0 ? `usage: ${words.trimStart()}` : words,
    );
  });
}

function optionHead(name: string, { short, type, value }: Option): string {
  const long = `--${name}${type === 'string' ? ` ${value ?? 'TEXT'}` : ''}`;
  return short === undefined ? long : `${long}, -${short}`;
}
