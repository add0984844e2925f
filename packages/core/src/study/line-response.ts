import type { MeasuredResponses } from '../measurement/measured-responses.ts';
import type { Response } from '../spec/spec.ts';
import type { Product } from '../trade/grade.ts';
import type { Line } from '../trade/line.ts';
import type { CellState } from './state.ts';

/** A response that the walk itself measures: how to read it off a cell. */
export interface LineResponse {
  readonly response: Response;
  /** The value, or null when the cell does not have it. */
  readonly value: (cell: CellState) => number | null;
  /** Precision of the value, as the inverse of its sampling variance on the modelled scale. */
  readonly weight?: (cell: CellState) => number | null;
  /** Metres looked at, for counts. */
  readonly exposure?: (cell: CellState) => number | null;
}

export const spreadName = 'SD of diameter';
export const pullerName = 'CV of puller speed';
export const bubbleName = 'bubbles';
export const outputName = 'output';
export const meanName = 'mean diameter';

/** What the log says; where there is none, what was typed in by hand. */
const measuredOrTyped =
  (name: string, of: (measured: MeasuredResponses) => number | undefined) =>
  ({ readings }: CellState): number | null =>
    (readings.measured && of(readings.measured)) ?? readings.values[name] ?? null;

/**
 * Responses of a study on a line. The mean diameter is one only while the puller loop is off: with
 * it on, the loop holds the mean and its spread tells the story.
 */
export function lineResponses(line: Line, product: Product): LineResponse[] {
  const leastOutput = product.leastOutputKgPerHour;
  const responses: LineResponse[] = [
    {
      response: {
        name: spreadName,
        kind: 'spread',
        unit: 'mm',
        weight: 'weight of SD',
        goal: { aim: 'smallest', target: product.toleranceMm / 6, high: product.toleranceMm / 2 },
      },
      value: measuredOrTyped(spreadName, (measured) => measured.diameterSdMm),
      weight: ({ readings }) => readings.measured?.diameterLnSdWeight ?? null,
    },
    {
      response: {
        name: bubbleName,
        kind: 'count',
        exposure: 'metres inspected',
        // Fewer than needed is not worth a wider strand: the ramp lies round the limit.
        goal: {
          aim: 'smallest',
          target: 0.75 * product.mostBubblesPerMetre,
          high: Math.max(1.25 * product.mostBubblesPerMetre, 0.1),
        },
      },
      value: ({ readings }) => readings.bubbles?.count ?? null,
      exposure: ({ readings }) => readings.bubbles?.metres ?? null,
    },
    {
      response: {
        name: outputName,
        kind: 'continuous',
        unit: 'kg/h',
        ...(leastOutput > 0
          ? { goal: { aim: 'largest' as const, low: 0.8 * leastOutput, target: leastOutput } }
          : {}),
      },
      value: measuredOrTyped(outputName, (measured) => measured.outputKgPerHour),
    },
    {
      response: { name: pullerName, kind: 'spread' },
      value: measuredOrTyped(pullerName, (measured) => measured.pullerCv),
    },
  ];
  if (line.puller.loop === 'off') {
    const { diameterMm: target, toleranceMm } = product;
    responses.push({
      response: {
        name: meanName,
        kind: 'continuous',
        unit: 'mm',
        goal: { aim: 'target', low: target - toleranceMm, target, high: target + toleranceMm },
      },
      value: measuredOrTyped(meanName, (measured) => measured.diameterMeanMm),
    });
  }
  return responses;
}
