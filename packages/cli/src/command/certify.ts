import { writeFileSync } from 'node:fs';
import { basename, resolve } from 'node:path';
import {
  AcceptanceLimits,
  type CertifiedSpool,
  certifiedSpool,
  type GaugeLog,
  type Journal,
  lineSpeedMmPerSecond,
  usualAcceptance,
} from '@strandwise/core';
import { readLog } from '@strandwise/gauge';
import { figureSvg } from '@strandwise/report';
import { z } from 'zod';
import { readBytes, readDocument } from '../input/read-document.ts';
import { certificateCard } from '../page/certificate-card.ts';
import { stripFigure } from '../page/strip-chart.ts';
import { themeOf, themeWish } from '../theme.ts';
import { certificateText } from '../wording/certificate-text.ts';
import type { Command, ExitCode, Given, Surroundings } from './command.ts';
import { signerOf, whoOption, withStudy } from './study-file.ts';
import { numberOption, textOption, UsageError, wholeOption } from './usage-error.ts';

export const certifyCommand: Command = {
  name: 'certify',
  summary: 'a spool’s certificate from its whole log: accept or reject, with every reason',
  usage: 'certify STUDY LOG --spool NAME [--html FILE] [--svg FILE]',
  example: {
    line: 'strandwise certify px-31.strandwise spool-12.csv --spool 12 --html spool-12.html',
    says: 'measures the whole log, judges it against the limits, keeps log and certificate in the study; exit code 1 when rejected.',
  },
  options: {
    spool: {
      type: 'string',
      value: 'NAME',
      says: 'number or name of the spool (default: the log’s name)',
    },
    limits: {
      type: 'string',
      value: 'FILE',
      says: 'the lab’s own limits; those left out come from the product. "schema acceptance" shows them',
    },
    bubbles: { type: 'string', value: 'N', says: 'bubbles counted on this spool' },
    inspected: { type: 'string', value: 'M', says: 'with --bubbles: metres looked at' },
    screw: { type: 'string', value: 'RPM', says: 'screw speed of the run (default: the recipe’s)' },
    html: { type: 'string', value: 'FILE', says: 'the certificate as a page to print' },
    svg: { type: 'string', value: 'FILE', says: 'the strip chart alone' },
    json: { type: 'boolean', says: 'the certificate as JSON' },
    'dry-run': { type: 'boolean', says: 'show it; record nothing in the study' },
    ...whoOption,
  },
  run(given, around) {
    return withStudy<ExitCode>(given, around, (journal): ExitCode => {
      const file = given.rest[1];
      if (file === undefined) throw new UsageError('name the spool’s log after the study.');
      const bytes = readBytes(resolve(around.cwd, file));
      const { log } = readLog(bytes, { fileName: basename(file) });
      const raw = journal.store.putRaw(basename(file), bytes);
      const spool = textOption(given.options, 'spool') ?? basename(file).replace(/\.[^.]*$/, '');
      const by = signerOf(given, around);
      const at = new Date(around.clock.now()).toISOString();
      const result = certifiedSpool({
        log,
        ...contextOf(journal, given),
        limits: limitsOf(journal, given, around),
        words: { ...wordsOf(journal), spool, by, at, log: raw },
      });
      if (!given.options['dry-run']) recordSpool(journal, result);
      written(result, log, given, around);
      return result.certificate.accepted ? 0 : 1;
    });
  },
};

function contextOf(
  journal: Journal,
  { options }: Given,
): Pick<Parameters<typeof certifiedSpool>[0], 'screwRpm' | 'loopSeconds' | 'bubbles'> {
  const { opened, recipe, released } = journal.state();
  const setPoints = released?.setPoints ?? recipe?.setPoints;
  const screwRpm = numberOption(options, 'screw') ?? setPoints?.screwRpm ?? 0;
  const { line, grade, product } = opened;
  const speed = screwRpm > 0 ? lineSpeedMmPerSecond(line, screwRpm, product.diameterMm, grade) : 0;
  const count = wholeOption(options, 'bubbles');
  const metres = numberOption(options, 'inspected');
  if ((count === undefined) !== (metres === undefined))
    throw new UsageError('--bubbles and --inspected go together: how many, on how many metres.');
  return {
    screwRpm,
    // Hunting has a period of about four dead times; common practice, no source.
    ...(line.puller.loop === 'on' && speed > 0
      ? { loopSeconds: (4 * line.dieToGaugeMm) / speed }
      : {}),
    ...(count === undefined || metres === undefined ? {} : { bubbles: { count, metres } }),
  };
}

const LimitsFile = z.strictObject(AcceptanceLimits.shape).partial();

function limitsOf(journal: Journal, { options }: Given, around: Surroundings): AcceptanceLimits {
  const file = textOption(options, 'limits');
  const usual = usualAcceptance(journal.state().opened.product);
  if (file === undefined) return usual;
  return AcceptanceLimits.parse({
    ...usual,
    ...readDocument(resolve(around.cwd, file), LimitsFile),
  });
}

function wordsOf(
  journal: Journal,
): Pick<
  CertifiedSpool['certificate'],
  'grade' | 'lot' | 'line' | 'study' | 'recipeVersion' | 'invented'
> {
  const { opened, released } = journal.state();
  return {
    grade: opened.grade.name,
    lot: opened.grade.lot ?? null,
    line: opened.line.name,
    study: opened.name,
    recipeVersion: released?.version ?? null,
    invented: opened.invented,
  };
}

function recordSpool(journal: Journal, { certificate }: CertifiedSpool): void {
  journal.record({
    kind: 'spool certified',
    spool: certificate.spool,
    raw: certificate.log,
    accepted: certificate.accepted,
    certificate,
  });
}

function written(
  { certificate, length }: CertifiedSpool,
  log: GaugeLog,
  { options }: Given,
  around: Surroundings,
): void {
  const theme = themeOf(themeWish(around.env, around.isTerminal));
  if (options['json']) around.out(JSON.stringify(certificate, null, 2));
  else
    around.out(certificateText(certificate, { log, length }, { theme, columns: around.columns }));
  const html = textOption(options, 'html');
  if (html !== undefined) {
    writeFileSync(resolve(around.cwd, html), certificateCard(certificate, log, length));
    around.tell(`Certificate written to ${html}.`);
  }
  const svg = textOption(options, 'svg');
  if (svg !== undefined) {
    writeFileSync(
      resolve(around.cwd, svg),
      figureSvg(stripFigure(log, length, certificate), 'strip'),
    );
    around.tell(`Strip chart written to ${svg}.`);
  }
}
