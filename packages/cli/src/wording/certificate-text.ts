import type { GaugeLog, SpoolCertificate, SpoolLength } from '@strandwise/core';
import { stripPieces } from '../page/strip-chart.ts';
import { wrapped } from '../terminal/line.ts';
import type { Theme } from '../theme.ts';

const mm = (value: number): string => value.toFixed(4);
const two = (value: number): string => value.toFixed(2);

/** The numbers of a certificate with the words they go by; a dash where the log cannot say. */
export function certificateFacts(certificate: SpoolCertificate): { name: string; value: string }[] {
  const { mean, sd, performance, capability, tolerance, outside, bubbles, effective } = certificate;
  const free = tolerance.distributionFree;
  const content = `${100 * tolerance.content} % of the strand, confidence ${tolerance.confidence}`;
  return [
    {
      name: 'length',
      value:
        certificate.metres === null
          ? 'not known: no puller speed'
          : `${certificate.metres.toFixed(1)} m in ${certificate.hours.toFixed(2)} h${certificate.unreadMetres ? `, ${certificate.unreadMetres.toFixed(1)} m not read` : ''}`,
    },
    {
      name: 'readings',
      value: `${certificate.readings}, worth ${Math.round(effective.forMean)} independent ones for the mean, ${Math.round(effective.forVariance)} for the SD`,
    },
    { name: 'mean', value: `${mm(mean.value)} mm (${mm(mean.low)} … ${mm(mean.high)})` },
    { name: 'SD', value: `${mm(sd.value)} mm (${mm(sd.low)} … ${mm(sd.high)})` },
    {
      name: 'Pp',
      value: `${two(performance.spread.value)} (${two(performance.spread.low)} … ${two(performance.spread.high)})`,
    },
    {
      name: 'Ppk',
      value: `${two(performance.nearer.value)} (${two(performance.nearer.low)} … ${two(performance.nearer.high)}), not below ${two(performance.nearerNotBelow)}${performance.nearerByPercentiles === null ? '' : `; by percentiles ${two(performance.nearerByPercentiles)}`}`,
    },
    capability.kind === 'in control'
      ? {
          name: 'Cp, Cpk',
          value: `${two(capability.spread.value)}, ${two(capability.nearer.value)} (${two(capability.nearer.low)} … ${two(capability.nearer.high)}); in control over ${capability.subgroups} subgroups`,
        }
      : { name: 'Cp, Cpk', value: `not quoted: ${capability.kind}. ${capability.says}` },
    {
      name: 'tolerance interval',
      value: `${mm(tolerance.normal.low)} … ${mm(tolerance.normal.high)} mm if normal (${content})`,
    },
    {
      name: 'distribution-free',
      value:
        free.kind === 'interval'
          ? `${mm(free.low)} … ${mm(free.high)} mm`
          : `the log is worth too few readings (${free.needed} needed); least to most holds it with confidence ${two(free.reachedConfidence)}`,
    },
    {
      name: 'outside',
      value: `${(100 * outside.share).toFixed(2)} % of readings${outside.metres === null ? '' : `, ${outside.metres.toFixed(2)} m in ${outside.pieces} pieces, longest ${outside.longestMetres!.toFixed(2)} m`}`,
    },
    ...(certificate.ovality95Mm === null
      ? []
      : [{ name: 'ovality', value: `95 % below ${mm(certificate.ovality95Mm)} mm` }]),
    ...(bubbles === null
      ? []
      : [
          {
            name: 'bubbles',
            value: `${bubbles.count} in ${bubbles.metres} m, not above ${two(bubbles.rateNotAbove)} per metre`,
          },
        ]),
  ];
}

/** A certificate as text with its strip chart in letters. */
export function certificateText(
  certificate: SpoolCertificate,
  strip: { readonly log: GaugeLog; readonly length: SpoolLength | null },
  { theme, columns }: { readonly theme: Theme; readonly columns: number },
): string {
  const { accepted, spool, grade, reasons, cannotSay, outside } = certificate;
  const room = Math.min(columns, 100);
  const facts = certificateFacts(certificate);
  return [
    theme.paint(
      accepted ? 'good' : 'danger',
      `${accepted ? 'ACCEPTED' : 'REJECTED'}   spool ${spool}, ${grade}`,
    ),
    ...reasons.map((says) => wrapped(says, room, 2).join('\n')),
    ...cannotSay.map((says) =>
      theme.paint('warning', wrapped(`Not judged. ${says}`, room, 2).join('\n')),
    ),
    '',
    ...facts.map(({ name, value }) => hanging(name, value, room)),
    '',
    ...stripLines(certificate, strip, { theme, columns: room }),
    ...(outside.stretches.length === 0
      ? []
      : [
          '',
          '  bad pieces by position on the spool',
          ...outside.stretches
            .slice(0, 12)
            .map(
              ({ fromMetre, toMetre, worstMm }) =>
                `    ${fromMetre.toFixed(2).padStart(8)} to ${toMetre.toFixed(2)} m, worst ${worstMm.toFixed(3)} mm`,
            ),
          ...(outside.stretches.length > 12 ? [`    and ${outside.pieces - 12} more`] : []),
        ]),
  ].join('\n');
}

function hanging(name: string, value: string, columns: number): string {
  const lines = wrapped(value, columns, 22);
  return lines
    .map((text, i) => (i === 0 ? `  ${name.padEnd(20)}${text.slice(22)}` : text))
    .join('\n');
}

/** Strip chart in letters: how far the strand reached up and down in each piece, and where it left. */
export function stripLines(
  { limits }: SpoolCertificate,
  { log, length }: { readonly log: GaugeLog; readonly length: SpoolLength | null },
  { theme, columns }: { readonly theme: Theme; readonly columns: number },
): string[] {
  const width = Math.max(20, columns - 16);
  const pieces = stripPieces(log, length?.positions ?? log.seconds, width);
  const { spark } = theme.glyphs;
  const letter = (share: number): string =>
    spark[Math.max(0, Math.min(spark.length - 1, Math.round(share * (spark.length - 1))))]!;
  const { diameterMm: target, toleranceMm: tolerance } = limits;
  const up = pieces.map(({ high }) => letter((high - target) / tolerance)).join('');
  const down = pieces.map(({ low }) => letter((target - low) / tolerance)).join('');
  const marks = pieces
    .map(({ low, high }) => (high > target + tolerance || low < target - tolerance ? '!' : ' '))
    .join('');
  const end = length ? `${length.metres.toFixed(0)} m` : 'end';
  return [
    `  above   +${tolerance.toFixed(2)}  ${up}`,
    `  below   ${theme.glyphs.minus}${tolerance.toFixed(2)}  ${down}`,
    ...(marks.trim() === '' ? [] : [theme.paint('danger', `  outside        ${marks.trimEnd()}`)]),
    `                 0${end.padStart(Math.max(1, pieces.length - 1))}`,
  ];
}
