import { certifyCommand } from './certify.ts';
import type { Command } from './command.ts';
import { compareSpoolsCommand } from './compare-spools.ts';
import { confirmCommand } from './confirm.ts';
import { demoCommand } from './demo.ts';
import { exportCommand, importCommand } from './exchange.ts';
import { extendCommand } from './extend.ts';
import { fitCommand } from './fit.ts';
import { newCommand } from './new.ts';
import { planCommand } from './plan.ts';
import { readyCommand } from './ready.ts';
import { releaseCommand } from './release.ts';
import { reportCommand } from './report.ts';
import { schemaCommand } from './schema.ts';
import { scoutCommand } from './scout.ts';
import { sheetCommand } from './sheet.ts';
import { showCommand } from './show.ts';
import { shutdownCommand } from './shutdown.ts';
import { verifyCommand } from './verify.ts';
import { walkCommand } from './walk.ts';

/** Every command, in the order of the job. */
export const commands: readonly Command[] = [
  newCommand,
  readyCommand,
  scoutCommand,
  planCommand,
  sheetCommand,
  walkCommand,
  extendCommand,
  fitCommand,
  reportCommand,
  confirmCommand,
  releaseCommand,
  certifyCommand,
  compareSpoolsCommand,
  shutdownCommand,
  showCommand,
  verifyCommand,
  exportCommand,
  importCommand,
  schemaCommand,
  demoCommand,
];
