import { appendFileSync, mkdtempSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileSource, guessLineFormat } from '@strandwise/gauge';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { listener } from '../../contract/reading-source.contract.ts';

const header = 'time (s),diameter (mm)\n';
const guess = guessLineFormat([header.trim(), '0,1.750', '1,1.751', '2,1.749']);
if (guess.kind !== 'guess') throw new Error('the format of this test is plain');
const { format } = guess;

describe('fileSource', () => {
  let folder = '';
  let path = '';
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'follow-'));
    path = join(folder, 'gauge.csv');
  });
  afterEach(() => rmSync(folder, { recursive: true }));
  const follow = (from: 'start' | 'end') => listener(fileSource({ path, format, from, pollMs: 2 }));

  it('hears only what is written after it began', async () => {
    writeFileSync(path, `${header}0,1.750\n1,1.751\n`);
    const ear = follow('end');
    appendFileSync(path, '2,1.752\n');
    await ear.until(() => ear.diameters().length === 1);
    await ear.stop();
    expect(ear.diameters()).toEqual([1.752]);
  });

  it('hears an hour of backlog from the start without a false word about clocks', async () => {
    const lines = Array.from({ length: 3600 }, (_, i) => `${i},1.7${10 + (i % 80)}`);
    writeFileSync(path, `${header}${lines.join('\n')}\n`);
    const ear = follow('start');
    await ear.until(() => ear.diameters().length === 3600);
    appendFileSync(path, '3600,1.752\n');
    await ear.until(() => ear.diameters().length === 3601);
    await ear.stop();
    expect(new Set(ear.kinds())).toEqual(new Set(['reading']));
    expect(ear.heard.at(-1)).toMatchObject({ reading: { seconds: 3600 } });
  });

  it('drops the rest of a line that was half written when it began', async () => {
    writeFileSync(path, `${header}0,1.7`);
    const ear = follow('end');
    appendFileSync(path, '50\n1,1.751\n');
    await ear.until(() => ear.diameters().length === 1);
    await ear.stop();
    expect(ear.diameters()).toEqual([1.751]);
    expect(ear.kinds()).toEqual(['reading']);
  });

  it('reads the old file to its end when it is rotated away, then the new one', async () => {
    writeFileSync(path, `${header}0,1.750\n`);
    const ear = follow('start');
    await ear.until(() => ear.diameters().length === 1);
    appendFileSync(path, '1,1.751\n');
    renameSync(path, join(folder, 'gauge.1.csv'));
    writeFileSync(path, `${header}2,1.752\n`);
    await ear.until(() => ear.diameters().length === 3);
    await ear.stop();
    expect(ear.diameters()).toEqual([1.75, 1.751, 1.752]);
    expect(ear.kinds()).not.toContain('unparsed');
  });

  it('starts again when the file is emptied, also when it has grown back at once', async () => {
    writeFileSync(path, `${header}0,1.750\n1,1.751\n`);
    const ear = follow('start');
    await ear.until(() => ear.diameters().length === 2);
    writeFileSync(path, `${header}2,1.752\n`);
    await ear.until(() => ear.diameters().length === 3);
    writeFileSync(path, '3,1.753\n4,1.754\n5,1.755\n6,1.756\n7,1.757\n8,1.758\n');
    await ear.until(() => ear.diameters().at(-1) === 1.758);
    await ear.stop();
    expect(ear.diameters()).toEqual([1.75, 1.751, 1.752, 1.753, 1.754, 1.755, 1.756, 1.757, 1.758]);
  });

  it('says that the file is not there, and is back when it comes', async () => {
    const ear = follow('end');
    await ear.until(() => ear.kinds().includes('lost'));
    expect(ear.heard[0]).toEqual({ kind: 'lost', why: `${path}: the file is not there` });
    writeFileSync(path, `${header}0,1.750\n`);
    await ear.until(() => ear.diameters().length === 1);
    await ear.stop();
    expect(ear.kinds()).toEqual(['lost', 'back', 'reading']);
  });
});
