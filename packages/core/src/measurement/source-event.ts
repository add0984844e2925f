import type { GaugeReading } from './log.ts';

/** What a gauge on the line can tell while someone listens. */
export type SourceEvent =
  /** `raw` is the line as it came, without its ending. */
  | { readonly kind: 'reading'; readonly reading: GaugeReading; readonly raw: string }
  /** A line that holds no reading; it is kept, never guessed at. */
  | { readonly kind: 'unparsed'; readonly line: string; readonly why: string }
  /** Nothing has come for a while; told again each time the silence doubles. */
  | { readonly kind: 'silent'; readonly forSeconds: number }
  /** The same diameter for longer than noise allows. */
  | { readonly kind: 'stuck'; readonly diameterMm: number; readonly forSeconds: number }
  /** The gauge's clock moved against ours; negative is back. */
  | { readonly kind: 'clock-jump'; readonly bySeconds: number }
  /** A diameter that no strand on this line has, or none at all; it is told instead of a reading. */
  | {
      readonly kind: 'beyond-belief';
      readonly diameterMm: number;
      readonly says: string;
      readonly raw?: string;
    }
  /** The file, port or connection is gone; the source goes on trying. */
  | { readonly kind: 'lost'; readonly why: string }
  /** Readings are back after `lost`, `silent` or `stuck`. */
  | { readonly kind: 'back'; readonly afterSeconds: number };
