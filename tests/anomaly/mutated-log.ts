import { seededUniform, type Uniform } from '@strandwise/core';
import { GaugeError, readLog } from '@strandwise/gauge';

/** What came of one broken log. */
export interface MutationTally {
  readonly logs: number;
  readonly refused: Readonly<Record<string, number>>;
  readonly read: number;
  readonly keptApart: number;
  readonly slowestMs: number;
  /** Readings whose time and diameter never stood in the log; must be empty. */
  readonly invented: readonly string[];
}

const LINES = 200;

/**
 * Breaks an invented log in random ways and reads it. A number that is read must stand in the broken
 * text as it was read: the reader may leave lines out, it may not make numbers up.
 */
export function readMutatedLogs(count: number, seed: number): MutationTally {
  const uniform = seededUniform(seed, 'mutated logs');
  const refused: Record<string, number> = {};
  const invented: string[] = [];
  let read = 0;
  let keptApart = 0;
  let slowestMs = 0;
  for (let k = 0; k < count; k++) {
    const bytes = mutated(healthyLog(uniform), uniform);
    const began = performance.now();
    try {
      const result = readLog(bytes);
      read++;
      keptApart += result.unparsed.count;
      invented.push(...inventedIn(bytes, result).map((what) => `log ${k}: ${what}`));
    } catch (error) {
      if (!(error instanceof GaugeError)) throw error;
      refused[error.code] = (refused[error.code] ?? 0) + 1;
    }
    slowestMs = Math.max(slowestMs, performance.now() - began);
  }
  return { logs: count, refused, read, keptApart, slowestMs, invented };
}

function healthyLog(uniform: Uniform): Buffer {
  const delimiter = [',', ';', '\t', ' '][Math.floor(uniform() * 4)]!;
  const hasHeader = uniform() < 0.7;
  const lines = hasHeader ? [['time_s', 'diameter_mm', 'puller_mm/s'].join(delimiter)] : [];
  for (let i = 0; i < LINES; i++) {
    lines.push(
      [i, (1.75 + 0.05 * (uniform() - 0.5)).toFixed(4), (15 + uniform()).toFixed(2)].join(
        delimiter,
      ),
    );
  }
  return Buffer.from(`${lines.join(uniform() < 0.3 ? '\r\n' : '\n')}\n`);
}

export function mutated(healthy: Buffer, uniform: Uniform): Buffer {
  let bytes = healthy;
  const times = 1 + Math.floor(uniform() * 6);
  for (let t = 0; t < times; t++) {
    const change = MUTATIONS[Math.floor(uniform() * MUTATIONS.length)]!;
    bytes = change(bytes, uniform);
  }
  return bytes;
}

const at = (bytes: Buffer, uniform: Uniform): number => Math.floor(uniform() * bytes.length);
const insert = (bytes: Buffer, i: number, what: string | Buffer): Buffer =>
  Buffer.concat([bytes.subarray(0, i), Buffer.from(what as string), bytes.subarray(i)]);

const ODD = [
  'NaN',
  'ERR',
  '-',
  '"',
  ',,',
  '1e9',
  '99999999999999999999',
  '\r',
  '\n',
  '\n\n\n',
  'µ',
  ' ',
  '#',
  '=',
  '0x1F',
];

const MUTATIONS: readonly ((bytes: Buffer, uniform: Uniform) => Buffer)[] = [
  // A byte changed, also to bytes that no text holds.
  (bytes, uniform) => {
    const out = Buffer.from(bytes);
    if (out.length > 0) out[at(out, uniform)] = Math.floor(uniform() * 256);
    return out;
  },
  // Cut anywhere.
  (bytes, uniform) => bytes.subarray(0, at(bytes, uniform)),
  // A stretch lost.
  (bytes, uniform) => {
    const i = at(bytes, uniform);
    return Buffer.concat([bytes.subarray(0, i), bytes.subarray(i + Math.floor(uniform() * 80))]);
  },
  // A stretch written twice.
  (bytes, uniform) => {
    const i = at(bytes, uniform);
    return insert(bytes, i, bytes.subarray(i, i + Math.floor(uniform() * 200)));
  },
  // Something odd put in.
  (bytes, uniform) => insert(bytes, at(bytes, uniform), ODD[Math.floor(uniform() * ODD.length)]!),
  // A delimiter or mark swapped throughout.
  (bytes, uniform) => {
    const [from, to] = [
      [',', ';'],
      ['.', ','],
      [';', ' '],
      ['\t', ','],
    ][Math.floor(uniform() * 4)]!;
    return Buffer.from(bytes.toString('latin1').replaceAll(from!, to!), 'latin1');
  },
  // Another encoding.
  (bytes) => Buffer.from(`\uFEFF${bytes.toString('latin1')}`, 'utf16le'),
  // Zeros, as a machine leaves that loses power while writing.
  (bytes, uniform) => insert(bytes, at(bytes, uniform), Buffer.alloc(Math.floor(uniform() * 64))),
];

/** Diameters that stand nowhere in the text, in any of the spellings the reader knows. */
function inventedIn(bytes: Buffer, { log, format }: ReturnType<typeof readLog>): string[] {
  const isWide = bytes[0] === 0xff && bytes[1] === 0xfe;
  const text = isWide ? bytes.toString('utf16le') : bytes.toString('latin1');
  const unit = format.fields.find((f) => f.means === 'diameter')?.unit;
  const written = new Set<number>();
  const note = (token: string): void => {
    if (token === '') return;
    const value = Number(token);
    written
      .add(value)
      .add(value / 1000)
      .add(value * 25.4);
  };
  // A point as decimal mark, then a comma: what is not part of a number parts them.
  for (const token of text.split(/[^0-9.eE+-]+/)) note(token);
  for (const token of text.split(/[^0-9,eE+-]+/)) note(token.replace(',', '.'));
  const out: string[] = [];
  for (const diameter of log.diameterMm) {
    if (!written.has(diameter)) out.push(`diameter ${diameter} mm (unit ${unit})`);
  }
  for (let i = 0; i < log.seconds.length; i++) {
    if (!(log.diameterMm[i]! > 0)) out.push(`diameter ${log.diameterMm[i]} at row ${i}`);
    if (i > 0 && log.seconds[i]! < log.seconds[i - 1]!) out.push(`time goes back at row ${i}`);
  }
  return out;
}
