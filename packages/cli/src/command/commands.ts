import type { Command } from './command.ts';

/**
 * Every command by name, in the order of the job. Each is read from disk only when it is called: a
 * command should not wait for the screens and libraries of the others.
 */
export const commands: Readonly<Record<string, () => Promise<Command>>> = {
  new: async () => (await import('./new.ts')).newCommand,
  ready: async () => (await import('./ready.ts')).readyCommand,
  scout: async () => (await import('./scout.ts')).scoutCommand,
  plan: async () => (await import('./plan.ts')).planCommand,
  sheet: async () => (await import('./sheet.ts')).sheetCommand,
  walk: async () => (await import('./walk.ts')).walkCommand,
  extend: async () => (await import('./extend.ts')).extendCommand,
  fit: async () => (await import('./fit.ts')).fitCommand,
  report: async () => (await import('./report.ts')).reportCommand,
  confirm: async () => (await import('./confirm.ts')).confirmCommand,
  release: async () => (await import('./release.ts')).releaseCommand,
  certify: async () => (await import('./certify.ts')).certifyCommand,
  'compare-spools': async () => (await import('./compare-spools.ts')).compareSpoolsCommand,
  transfer: async () => (await import('./transfer.ts')).transferCommand,
  shutdown: async () => (await import('./shutdown.ts')).shutdownCommand,
  show: async () => (await import('./show.ts')).showCommand,
  verify: async () => (await import('./verify.ts')).verifyCommand,
  export: async () => (await import('./exchange.ts')).exportCommand,
  import: async () => (await import('./exchange.ts')).importCommand,
  schema: async () => (await import('./schema.ts')).schemaCommand,
  library: async () => (await import('./library.ts')).libraryCommand,
  'virtual-line': async () => (await import('./virtual-line.ts')).virtualLineCommand,
  completion: async () => (await import('./completion.ts')).completionCommand(everyCommand),
  demo: async () => (await import('./demo.ts')).demoCommand,
};

/** All of them, for the overview. */
export const everyCommand = (): Promise<Command[]> =>
  Promise.all(Object.values(commands).map((load) => load()));
