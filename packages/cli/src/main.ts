import { parseArgs } from 'node:util';
import { type Command, type ExitCode, parseConfig, type Surroundings } from './command/command.ts';
import { commands, everyCommand } from './command/commands.ts';
import { commandHelp, overview } from './command/help.ts';

const around: Surroundings = {
  out: (text) => void process.stdout.write(`${text}\n`),
  tell: (text) => void process.stderr.write(`${text}\n`),
  clock: { now: () => Date.now() },
  env: process.env,
  cwd: process.cwd(),
  isTerminal: process.stdout.isTTY === true,
  columns: process.stdout.columns ?? 80,
};

// The screen library's development build is slower and keeps a trace of every drawing.
process.env['NODE_ENV'] ??= 'production';

if (around.isTerminal) {
  // The screen library draws nothing where these are set, as they are on a build machine.
  delete process.env['CI'];
  delete process.env['CONTINUOUS_INTEGRATION'];
}

process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  // A reader such as `head` may close the pipe early: that is no fault.
  if (error.code === 'EPIPE') process.exit(0);
  throw error;
});

async function run(args: readonly string[]): Promise<ExitCode> {
  const [first, ...rest] = args;
  if (first === '--version' || first === '-V') {
    around.out(__STRANDWISE_VERSION__);
    return 0;
  }
  if (first === undefined && around.isTerminal && process.stdin.isTTY) {
    const { workbench } = await import('./workbench/workbench.ts');
    return workbench(around, run);
  }
  if (first === undefined || first === 'help' || first === '--help' || first === '-h') {
    const asked = first === 'help' && rest[0] !== undefined ? commands[rest[0]] : undefined;
    around.out(asked ? commandHelp(await asked()) : overview(await everyCommand()));
    return 0;
  }
  const load = Object.hasOwn(commands, first) ? commands[first] : undefined;
  if (load) return runCommand(await load(), rest);
  const { nearestName } = await import('@strandwise/core');
  const near = nearestName(first, Object.keys(commands));
  around.tell(
    `strandwise: there is no "${first}".${near ? ` Did you mean "${near}"?` : ''} "strandwise help" lists what there is.`,
  );
  return 2;
}

async function runCommand(command: Command, args: readonly string[]): Promise<ExitCode> {
  const isDebug = args.includes('--debug');
  try {
    const { values, positionals } = parseArgs(parseConfig(command, args));
    if (values['help']) {
      around.out(commandHelp(command));
      return 0;
    }
    return await command.run({ options: values, rest: positionals }, around);
  } catch (error) {
    return reported(error, command, isDebug);
  }
}

function reported(error: unknown, command: Command, isDebug: boolean): ExitCode {
  const says = error instanceof Error ? error.message : String(error);
  const code = (error as { code?: unknown } | null)?.code;
  if (typeof code === 'string' && code.startsWith('ERR_PARSE_ARGS')) {
    around.tell(
      `strandwise ${command.name}: ${says.split('\n')[0]} "strandwise ${command.name} --help" shows how.`,
    );
    return 2;
  }
  around.tell(`strandwise ${command.name}: ${says}`);
  if (isDebug && error instanceof Error) around.tell(error.stack ?? '');
  const kind = error instanceof Error ? error.name : '';
  if (kind === 'StudyFileError') return isMachineFault(code) ? 3 : 2;
  if (askedKinds.has(kind)) return 2;
  if (!isDebug)
    around.tell('This looks like a fault in Strandwise or the machine; --debug shows where.');
  return 3;
}

/** Errors that say what was wrong with what was asked; told apart by name, so that none need loading. */
const askedKinds: ReadonlySet<string> = new Set([
  'UsageError',
  'InputFileError',
  'DomainError',
  'GaugeError',
  'StaleStudyError',
]);

const isMachineFault = (code: unknown): boolean =>
  ['locked', 'full', 'read_only', 'unreadable'].includes(String(code));

// Last, so that everything above is there when it runs.
process.exitCode = await run(process.argv.slice(2));
