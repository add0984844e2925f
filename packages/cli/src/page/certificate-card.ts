import type { GaugeLog, SpoolCertificate, SpoolLength } from '@strandwise/core';
import { type CardInput, cardPage } from '@strandwise/report';
import { certificateFacts } from '../wording/certificate-text.ts';
import { stripFigure } from './strip-chart.ts';

/** The certificate as a page to print and sign. */
export function certificateCard(
  certificate: SpoolCertificate,
  log: GaugeLog,
  length: SpoolLength | null,
): string {
  const { spool, grade, lot, line, at, by, accepted, reasons, cannotSay, outside, limits } =
    certificate;
  const input: CardInput = {
    title: `Certificate of spool ${spool}`,
    answer: `${accepted ? 'Accepted' : 'Rejected'}: ${grade}, ${limits.diameterMm} ± ${limits.toleranceMm} mm.`,
    ...(certificate.invented ? { notice: 'Invented example: no such grade or spool exists.' } : {}),
    facts: [
      { name: 'grade', value: lot === null ? grade : `${grade}, lot ${lot}` },
      { name: 'line', value: line },
      ...(certificate.study === null ? [] : [{ name: 'study', value: certificate.study }]),
      ...(certificate.recipeVersion === null
        ? []
        : [{ name: 'recipe version', value: String(certificate.recipeVersion) }]),
      { name: 'issued', value: `${at} by ${by}` },
      { name: 'log', value: `${certificate.log.name}, SHA-256 ${certificate.log.sha256}` },
    ],
    sections: [
      {
        heading: 'Decision',
        list: reasons,
        ...(cannotSay.length > 0
          ? { sentences: cannotSay.map((says) => `Not judged. ${says}`) }
          : {}),
      },
      { heading: 'Measured', facts: certificateFacts(certificate) },
      {
        heading: 'Along the spool',
        figures: [
          {
            caption:
              outside.pieces === 0
                ? 'Nowhere did the strand leave its tolerance.'
                : `${outside.pieces} pieces left the tolerance.`,
            figure: stripFigure(log, length, certificate),
          },
        ],
        ...(outside.stretches.length > 0
          ? {
              tables: [
                {
                  caption: 'Pieces outside, by position from the start of the spool',
                  columns: [
                    { head: 'from (m)', holds: 'numbers' as const },
                    { head: 'to (m)', holds: 'numbers' as const },
                    { head: 'worst (mm)', holds: 'numbers' as const },
                  ],
                  rows: outside.stretches.map(({ fromMetre, toMetre, worstMm }) => [
                    fromMetre.toFixed(2),
                    toMetre.toFixed(2),
                    worstMm.toFixed(3),
                  ]),
                },
              ],
            }
          : {}),
      },
      { heading: 'Limits', facts: limitFacts(certificate) },
    ],
    signatures: ['tested by', 'released by', 'date'],
    cautions: [
      'A certificate speaks for this spool as logged; check the gauge against a pin before each spool.',
    ],
  };
  return cardPage(input);
}

const limitFacts = ({ limits }: SpoolCertificate): { name: string; value: string }[] => [
  { name: 'mean off target', value: `at most ${limits.mostMeanOffMm} mm` },
  { name: 'Ppk', value: `not below ${limits.leastPpk} with confidence ${limits.confidence}` },
  { name: 'readings outside', value: `at most ${100 * limits.mostShareOutside} %` },
  { name: 'beyond the tolerance', value: `at most ${limits.mostBeyondMm} mm` },
  { name: 'outside in one piece', value: `at most ${limits.longestOutsideMetres} m` },
  ...(limits.mostBubblesPerMetre === undefined
    ? []
    : [{ name: 'bubbles', value: `at most ${limits.mostBubblesPerMetre} per metre` }]),
  ...(limits.mostOvalityMm === undefined
    ? []
    : [{ name: 'ovality', value: `at most ${limits.mostOvalityMm} mm` }]),
  ...(limits.leastMetres === undefined
    ? []
    : [{ name: 'length', value: `at least ${limits.leastMetres} m` }]),
];
