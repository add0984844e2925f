import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import {
  openJournal,
  runRules,
  SpoolCertificate,
  type SpoolComparison,
  spoolComparison,
} from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { readDocument } from '../input/read-document.ts';
import { spark } from '../terminal/bar.ts';
import { wrapped } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';
import { type Theme, themeOf, themeWish } from '../theme.ts';
import type { Command, Surroundings } from './command.ts';
import { studyEnding } from './study-file.ts';
import { UsageError, wholeOption } from './usage-error.ts';

export const compareSpoolsCommand: Command = {
  name: 'compare-spools',
  summary: 'many spools as charts of individuals and moving range, with named rules',
  usage: 'compare-spools (STUDY | CERTIFICATE.json) … [--baseline N]',
  example: {
    line: 'strandwise compare-spools px-31.strandwise --baseline 20',
    says: 'charts every certified spool of the study; the first 20 set the limits.',
  },
  options: {
    baseline: {
      type: 'string',
      value: 'N',
      says: 'how many of the first spools set the limits (default: all)',
    },
    json: { type: 'boolean', says: 'the charts as JSON' },
  },
  run({ options, rest }, around) {
    if (rest.length === 0) throw new UsageError('name a study, or certificates as JSON files.');
    const certificates = rest.flatMap((file) => certificatesIn(resolve(around.cwd, file), around));
    if (certificates.length < 2)
      throw new UsageError(
        `at least two spools are needed to compare; got ${certificates.length}.`,
      );
    const inOrder = [...certificates].sort((a, b) => a.at.localeCompare(b.at));
    const baseline = wholeOption(options, 'baseline') ?? inOrder.length;
    if (baseline < 2 || baseline > inOrder.length)
      throw new UsageError(`--baseline must lie between 2 and ${inOrder.length}; got ${baseline}.`);
    const comparison = spoolComparison(inOrder, baseline);
    const theme = themeOf(themeWish(around.env, around.isTerminal));
    if (options['json']) around.out(JSON.stringify(comparison, null, 2));
    else around.out(comparisonText(comparison, theme, around.columns));
    return comparison.charts.some(({ signals }) => signals.length > 0) ? 1 : 0;
  },
};

function certificatesIn(file: string, around: Surroundings): SpoolCertificate[] {
  if (!isStudy(file)) return [readDocument(file, SpoolCertificate)];
  const store = sqliteStudyStore(file, { mode: 'read' });
  try {
    const { spools } = openJournal(store, around.clock, 'reader').state();
    return spools.map(({ certificate }) => SpoolCertificate.parse(certificate));
  } finally {
    store.close();
  }
}

/** True for a study file, whatever its name. */
function isStudy(file: string): boolean {
  if (file.endsWith(studyEnding)) return true;
  try {
    return readFileSync(file).subarray(0, 15).toString('latin1') === 'SQLite format 3';
  } catch {
    return false;
  }
}

function comparisonText(
  { spools, accepted, baseline, charts }: SpoolComparison,
  theme: Theme,
  columns: number,
): string {
  const width = Math.max(10, Math.min(60, columns - 20));
  return [
    `${spools.length} spools, ${accepted} accepted; limits from the first ${baseline}`,
    ...wrapped(
      `Individuals and moving range; run rules of the NIST/SEMATECH e-Handbook 6.3.2: ${runRules.join(', ')}.`,
      Math.min(columns, 100),
    ),
    ...charts.flatMap(({ figure, unit, scale, values, individuals, signals, jumps }) => {
      const shown = (value: number): string =>
        figures(scale === 'as it is' ? value : Math.exp(value), 4);
      return [
        '',
        theme.paint(
          'strong',
          `${figure}${unit ? `, ${unit}` : ''}${scale === 'as it is' ? '' : ' (compared by ratio)'}`,
        ),
        `  centre ${shown(individuals.centre)}, limits ${shown(individuals.low)} … ${shown(individuals.high)}`,
        `  ${spark(values, width, theme)}`,
        ...signals
          .slice(0, 20)
          .map(({ spool, rule }) => theme.paint('warning', `  spool ${spool}: ${rule}`)),
        ...(signals.length > 20 ? [`  and ${signals.length - 20} more signals`] : []),
        ...(jumps.length > 0
          ? [theme.paint('warning', `  jumps at spool ${jumps.slice(0, 20).join(', ')}`)]
          : []),
        ...(signals.length === 0 && jumps.length === 0
          ? ['  nothing beyond chance by these rules']
          : []),
      ];
    }),
  ].join('\n');
}
