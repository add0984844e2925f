import type { RawReference, StudyEvent } from '@strandwise/core';
import { type Fact, grouped, type Table, withUnit } from '@strandwise/report';
import { minuteOf } from './job.ts';
import type { PagedStudy } from './paged-study.ts';
import { counted } from './sentence.ts';

/** Where everything on the page can be traced back to. Nothing here depends on when the page is made. */
export function provenanceFacts({
  state,
  events,
  version,
  asked,
  isReduced,
  fits,
}: PagedStudy): Fact[] {
  const last = events.at(-1)!;
  const undone = events.filter(({ what }) => what.kind === 'entry undone').length;
  return [
    { name: 'study', value: state.opened.name },
    { name: 'seed', value: String(state.opened.seed) },
    { name: 'made by', value: `strandwise ${version}` },
    {
      name: 'entries',
      value: `${grouped(events.length)}${undone > 0 ? `, ${undone} of them undo others` : ''}`,
    },
    {
      name: 'last entry',
      value: `${last.seq}, ${last.what.kind}, ${minuteOf(last.at)} UTC, by ${last.who}`,
    },
    {
      name: 'settings of this page',
      value: [
        `chance asked ${asked}`,
        `intervals ${withUnit('95', '%')}`,
        ...(fits.responses.length === 0
          ? []
          : [isReduced ? 'terms left out that the runs do not support' : 'every term kept']),
      ].join('; '),
    },
  ];
}

/** Every raw log with its hash, for the page and for export. */
export function rawTable(events: readonly StudyEvent[]): Table | null {
  const rows = events.flatMap(({ what }): { raw: RawReference; where: string }[] => {
    if (what.kind === 'log attached') return [{ raw: what.raw, where: `cell\u00a0${what.cell}` }];
    if (what.kind === 'cell failed' && what.raw)
      return [{ raw: what.raw, where: `cell\u00a0${what.cell}, failed` }];
    if (what.kind === 'spool certified') return [{ raw: what.raw, where: `spool ${what.spool}` }];
    return [];
  });
  if (rows.length === 0) return null;
  return {
    caption: `${counted(rows.length, 'raw log')}, by the SHA-256 of ${rows.length === 1 ? 'its' : 'their'} bytes`,
    columns: [
      { head: 'of', holds: 'words' },
      { head: 'log', holds: 'words' },
      { head: 'bytes', holds: 'numbers' },
      { head: 'SHA-256', holds: 'codes' },
    ],
    rows: rows.map(({ raw, where }) => [
      where,
      raw.name,
      { shown: grouped(raw.bytes), exported: raw.bytes },
      raw.sha256,
    ]),
  };
}
