// One life of a walk, for a parent that ends it at a bad moment. Walks a study on the virtual line in
// accelerated time and says on standard output what is confirmed, as soon as it is.
import { createHash } from 'node:crypto';
import { writeSync } from 'node:fs';
import { openJournal, seededUniform } from '@strandwise/core';
import { sqliteStudyStore } from '@strandwise/store';
import { lastKnownMs } from '../../../packages/cli/src/reading/live-recorder.ts';
import { steadyClock } from '../../../packages/cli/src/reading/steady-clock.ts';
import { trainer } from '../../../packages/cli/src/reading/trainer.ts';
import { claimWalk } from '../../../packages/cli/src/screen/walk/claim.ts';
import { walkSession } from '../../../packages/cli/src/screen/walk/session.ts';
import { nextKeys } from '../../cli/walk/operator.ts';
import { pressAll } from '../../cli/walk/press.ts';

const [, , path = '', seed = '1', speed = '600'] = process.argv;
const say = (text: string): void => void writeSync(1, `${text}\n`);

const store = sqliteStudyStore(path, { mode: 'open' });
const claimed = claimWalk(store.drafts, { who: 'Robin' });
if (claimed.kind === 'taken') {
  say(`taken ${claimed.by.pid}`);
  process.exit(4);
}
const opening = openJournal(store, { now: Date.now }, 'Robin');
const lastMs = lastKnownMs(opening);
const line = trainer({
  study: opening.state(),
  seed: Number(seed),
  speed: Number(speed),
  startMs: lastMs,
});
const clock = steadyClock(line.clock, line.ticking, lastMs);
const journal = openJournal(store, clock, 'Robin');
const session = walkSession({
  journal,
  clock,
  claim: claimed.claim,
  gauge: line,
  trainer: line,
  attachLog: () => 'no file',
});
const uniform = seededUniform(Number(seed));
let told = journal.events().length;
let toldDraft = '';
let toldLines = '';

/** Says what is now on disk: entries by their hash, what is half typed, and lines heard. */
function confirm(): void {
  for (const event of journal.events().slice(told)) {
    const hash = createHash('sha256').update(JSON.stringify(event)).digest('hex');
    say(`entry ${event.seq} ${hash}`);
  }
  told = journal.events().length;
  const { mode, tally } = session.screen();
  const draft = 'draft' in mode ? mode.draft : '';
  const text = `draft ${journal.state().lastSeq} ${tally} ${JSON.stringify(draft)}`;
  if (text !== toldDraft) say(text);
  toldDraft = text;
  const { live, briefing } = session.facts();
  const lines = `lines ${briefing?.cell.cell} ${briefing?.cell.enteredAt} ${live?.keptLines}`;
  if (lines !== toldLines && live?.keptLines) say(lines);
  toldLines = lines;
}

say('alive');
const timer = setInterval(() => {
  session.tick();
  const keys = nextKeys(session, uniform);
  if (keys !== '') pressAll(session, keys);
  confirm();
  if (journal.state().queue.length === 0) {
    clearInterval(timer);
    say('walked');
    void session.close().then(() => store.close());
  }
}, 4);
