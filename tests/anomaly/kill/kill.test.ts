import { expect, it } from 'vitest';
import { killed, reportText } from './killing.ts';

/** STRANDWISE_KILLS=1000 for the long run by hand. */
const kills = Number(process.env['STRANDWISE_KILLS'] ?? 50);

it(
  `loses nothing that was confirmed over ${kills} kills of a walk with a live gauge`,
  async () => {
    const started = performance.now();
    const report = await killed(kills, {
      onKill: (sofar) => {
        if (kills > 50 && sofar.kills % 25 === 0)
          process.stderr.write(
            `${reportText(sofar)}\n${Math.round((performance.now() - started) / 1000)} s\n`,
          );
      },
    });
    process.stdout.write(`${reportText(report)}\n`);
    expect(report.problems).toEqual([]);
    expect(report).toMatchObject({
      kills,
      entriesLost: 0,
      corruptedStudies: 0,
      draftsLost: 0,
      linesLost: 0,
    });
    // How many entries fall between two kills is the machine's pace; some must, or nothing was tried.
    expect(report.entriesConfirmed).toBeGreaterThan(kills / 5);
    expect(report.linesConfirmed).toBeGreaterThan(0);
  },
  // Three seconds a kill when the machine is idle; it seldom is for as long as a thousand take.
  kills * 10_000,
);
