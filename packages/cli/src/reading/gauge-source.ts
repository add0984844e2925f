import { resolve } from 'node:path';
import type { Product, ReadingSource } from '@strandwise/core';
import { fileSource, type LineFormat, serialSource, tcpSource } from '@strandwise/gauge';
import type { GaugeChoice } from './gauge-choice.ts';

/** The adapter for a choice. `virtual` has its own, the trainer. */
export function gaugeSource(
  choice: Exclude<GaugeChoice, { kind: 'virtual' }>,
  { format, product, cwd }: { format: LineFormat; product: Product; cwd: string },
): ReadingSource {
  // A third and three times the target: beyond it is no strand of this product.
  const believableMm = { low: product.diameterMm / 3, high: 3 * product.diameterMm };
  const options = { format, watch: { believableMm } };
  switch (choice.kind) {
    case 'file':
      return fileSource({ ...options, path: resolve(cwd, choice.path) });
    case 'tcp':
      return tcpSource({ ...options, host: choice.host, port: choice.port });
    case 'serial':
      return serialSource({ ...options, path: choice.path, baud: choice.baud });
  }
}

/** A format that takes no line for a reading: to see lines as they come before they are understood. */
export const linesOnly: LineFormat = {
  pattern: '^(?!)(.)$',
  decimalMark: '.',
  headerLines: 0,
  time: { from: 'arrival' },
  fields: [{ column: 1, means: 'diameter', unit: 'mm' }],
};
