import type { Clock, ReadingSource, SetPoints, StudyState } from '@strandwise/core';
import { type LineFormat, liveReader } from '@strandwise/gauge';
import {
  csvRow,
  demoScenario,
  type FailureWay,
  VirtualLine,
  type VirtualReading,
  virtualGradeNamed,
} from '@strandwise/virtual-line';

/** The virtual line in place of a real one, faster than life: to learn the walk on. */
export interface Trainer {
  readonly source: ReadingSource;
  readonly format: LineFormat;
  /** Runs as fast as the line. */
  readonly clock: Clock;
  readonly ticking: () => number;
  /** What the operator keyed in. */
  set(setPoints: SetPoints): void;
  /** What a look at the strand tells since the last change of settings or the last call of `look`. */
  look(): TrainerLook;
}

export interface TrainerLook {
  readonly bubbles: number;
  readonly metres: number;
  readonly failure: FailureWay | null;
}

export interface TrainerOf {
  readonly study: StudyState;
  readonly seed: number;
  /** Virtual seconds a second. */
  readonly speed: number;
  /** The study's time at the start, ms. */
  readonly startMs: number;
  readonly ticking?: () => number;
}

const TICK_MS = 50;
/** Moisture of the dried pellets that the hopper is topped up with every hour, ppm. */
const REFILL_SECONDS = 3600;

export function trainer({ study, seed, speed, startMs, ticking }: TrainerOf): Trainer {
  const real = ticking ?? ((): number => performance.now());
  const startedAt = real();
  const elapsed = (): number => (real() - startedAt) * speed;
  const { line: described, product, grade } = study.opened;
  const first = study.cells.find(({ run }) => run.setPoints !== null)!.run.setPoints!;
  const latest = latestEntered(study) ?? first;
  const line = new VirtualLine({
    line: described,
    grade: { ...virtualGradeNamed(grade.name), name: grade.name },
    product,
    seed,
    setPoints: latest,
    moisturePpm: demoScenario.driedPpm,
  });
  let seen = { bubbles: 0, metres: 0, failure: null as FailureWay | null };
  const stepped = (): VirtualReading => {
    const reading = line.step();
    if (Math.floor(line.seconds) % REFILL_SECONDS === 0) line.refill(demoScenario.driedPpm, 'same');
    seen = {
      bubbles: seen.bubbles + reading.bubbles,
      metres: seen.metres + reading.metres,
      failure: reading.failure ?? seen.failure,
    };
    return reading;
  };
  const format = virtualFormat(described.zones.length, described.gauge.axes === 2);
  return {
    format,
    clock: { now: () => startMs + elapsed() },
    ticking: elapsed,
    set(setPoints) {
      line.set(setPoints);
      seen = { bubbles: 0, metres: 0, failure: null };
    },
    look() {
      const now = seen;
      seen = { bubbles: 0, metres: 0, failure: now.failure };
      return now;
    },
    source: virtualSource(stepped, format, elapsed),
  };
}

/** The line's readings through the gauge's own text, as every gauge's are. */
function virtualSource(
  step: () => VirtualReading,
  format: LineFormat,
  elapsed: () => number,
): ReadingSource {
  return {
    place: 'virtual line',
    listen(hear) {
      let made = Math.floor(elapsed() / 1000);
      let nowSeconds = made;
      const reader = liveReader({ format, now: () => nowSeconds }, hear);
      const timer = setInterval(() => {
        // Making readings takes time, in which a fast line would seem to fall silent.
        const due = Math.floor(elapsed() / 1000);
        while (made < due) {
          nowSeconds = ++made;
          reader.lines([csvRow(step())]);
        }
        reader.tick();
      }, TICK_MS);
      return {
        stop() {
          clearInterval(timer);
          return Promise.resolve();
        },
      };
    },
  };
}

function virtualFormat(zones: number, hasOvality: boolean): LineFormat {
  const firstZone = hasOvality ? 5 : 4;
  return {
    name: 'virtual line',
    delimiter: ',',
    decimalMark: '.',
    headerLines: 0,
    fieldCount: firstZone - 1 + zones,
    time: { from: 'column', column: 1, as: 'seconds' },
    fields: [
      { column: 2, means: 'diameter', unit: 'mm' },
      ...(hasOvality ? ([{ column: 3, means: 'ovality', unit: 'mm' }] as const) : []),
      { column: firstZone - 1, means: 'puller', unit: 'mm/s' },
      ...Array.from({ length: zones }, (_, i) => ({
        column: firstZone + i,
        means: 'zone' as const,
        unit: '°C' as const,
        zone: i + 1,
      })),
    ],
  };
}

function latestEntered(study: StudyState): SetPoints | null {
  const entered = study.cells
    .filter(({ enteredAt }) => enteredAt !== null)
    .sort((a, b) => (a.enteredAt! < b.enteredAt! ? 1 : -1));
  return entered[0]?.entered ?? null;
}
