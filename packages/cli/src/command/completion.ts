import { unknownName } from '../input/file-error.ts';
import { type Command, type ExitCode, everyOption } from './command.ts';

const shells = ['bash', 'zsh', 'fish'] as const;

/** The completion command over all commands; they are handed in, as they include this one. */
export const completionCommand = (everyCommand: () => Promise<readonly Command[]>): Command => ({
  name: 'completion',
  summary: 'a script that lets the shell complete commands, options and study files',
  usage: 'completion bash | zsh | fish',
  example: {
    line: 'source <(strandwise completion bash)',
    says: 'completes in this shell; put the line into ~/.bashrc to keep it. For fish: strandwise completion fish > ~/.config/fish/completions/strandwise.fish',
  },
  options: {},
  async run(given, around): Promise<ExitCode> {
    const shell = given.rest[0] ?? '';
    const commands = await everyCommand();
    switch (shell) {
      case 'bash':
        around.out(bashScript(commands));
        return 0;
      case 'zsh':
        around.out(zshScript(commands));
        return 0;
      case 'fish':
        around.out(fishScript(commands));
        return 0;
      default:
        throw unknownName('the shell', shell, shells);
    }
  },
});

const optionNames = ({ options }: Command): string[] =>
  Object.keys({ ...options, ...everyOption }).map((name) => `--${name}`);

/** A text inside single quotes of a shell. */
const quoted = (text: string): string => `'${text.replaceAll("'", `'\\''`)}'`;

export function bashScript(commands: readonly Command[]): string {
  const cases = commands.map(
    (command) => `    ${command.name}) options=${quoted(optionNames(command).join(' '))} ;;`,
  );
  return [
    '# Completion of strandwise for bash.',
    '_strandwise() {',
    '  local word="$2" options=',
    '  if [ "$COMP_CWORD" -eq 1 ]; then',
    `    COMPREPLY=($(compgen -W ${quoted(['help', ...commands.map(({ name }) => name)].join(' '))} -- "$word"))`,
    '    return',
    '  fi',
    `  case \${COMP_WORDS[1]} in`,
    `    help) COMPREPLY=($(compgen -W ${quoted(commands.map(({ name }) => name).join(' '))} -- "$word")); return ;;`,
    ...cases,
    '  esac',
    '  case $word in',
    '    -*) COMPREPLY=($(compgen -W "$options" -- "$word")) ;;',
    '    *) compopt -o filenames 2>/dev/null; COMPREPLY=($(compgen -f -- "$word")) ;;',
    '  esac',
    '}',
    'complete -F _strandwise strandwise',
  ].join('\n');
}

export function zshScript(commands: readonly Command[]): string {
  const names = commands.map(
    ({ name, summary }) => `    ${quoted(`${name}:${summary.replaceAll(':', ' ')}`)}`,
  );
  const cases = commands.map(
    (command) => `    ${command.name}) options=(${optionNames(command).join(' ')}) ;;`,
  );
  return [
    '#compdef strandwise',
    '# Completion of strandwise for zsh.',
    '_strandwise() {',
    '  local -a names options',
    '  names=(',
    ...names,
    '  )',
    '  if (( CURRENT == 2 )); then',
    "    _describe 'command' names",
    '    return',
    '  fi',
    '  case $words[2] in',
    "    help) _describe 'command' names; return ;;",
    ...cases,
    '  esac',
    '  if [[ $PREFIX == -* ]]; then',
    '    compadd -- $options',
    '  else',
    '    _files',
    '  fi',
    '}',
    'if [ "$funcstack[1]" = "_strandwise" ]; then _strandwise "$@"; else compdef _strandwise strandwise; fi',
  ].join('\n');
}

export function fishScript(commands: readonly Command[]): string {
  return [
    '# Completion of strandwise for fish.',
    ...commands.map(
      ({ name, summary }) =>
        `complete -c strandwise -n __fish_use_subcommand -f -a ${quoted(name)} -d ${quoted(summary)}`,
    ),
    ...commands.flatMap((command) =>
      Object.entries({ ...command.options, ...everyOption }).map(
        ([name, { type, says }]) =>
          `complete -c strandwise -n ${quoted(`__fish_seen_subcommand_from ${command.name}`)} -l ${name}${type === 'string' ? ' -r' : ''} -d ${quoted(says)}`,
      ),
    ),
  ].join('\n');
}
