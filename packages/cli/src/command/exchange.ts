import { writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { StudyEvent } from '@strandwise/core';
import { canonicalJson, StudyFileError, sha256, sqliteStudyStore } from '@strandwise/store';
import { z } from 'zod';
import { InputFileError } from '../input/file-error.ts';
import { readDocument } from '../input/read-document.ts';
import type { Command } from './command.ts';
import { studyPath } from './study-file.ts';
import { UsageError } from './usage-error.ts';

/** A whole study as one readable JSON file: entries, and raw logs as text where they are text. */
export const StudyExport = z.strictObject({
  format: z.literal('strandwise study'),
  version: z.literal(1),
  entries: z.array(StudyEvent),
  raw: z.array(
    z.strictObject({
      sha256: z.string(),
      name: z.string(),
      encoding: z.enum(['text', 'base64']),
      content: z.string(),
    }),
  ),
});
type RawContent = z.infer<typeof StudyExport>['raw'][number];

export const exportCommand: Command = {
  name: 'export',
  summary: 'write a study as readable JSON with its raw logs',
  usage: 'export STUDY FILE.json',
  example: {
    line: 'strandwise export px-31.strandwise px-31.json',
    says: 'the JSON holds everything; importing and exporting it again gives the same bytes.',
  },
  options: {},
  run(given, around) {
    const target = given.rest[1];
    if (target === undefined) throw new UsageError('name the JSON file to write after the study.');
    const store = sqliteStudyStore(studyPath(given, around), { mode: 'read' });
    try {
      const entries = store.events();
      const names = new Map(
        entries.flatMap(({ what }) =>
          'raw' in what && what.raw ? [[what.raw.sha256, what.raw.name] as const] : [],
        ),
      );
      const raw = [...names]
        .sort(([a], [b]) => (a < b ? -1 : 1))
        .map(([hash, name]) => rawContent(hash, name, store.raw(hash)));
      const text = JSON.stringify(
        JSON.parse(canonicalJson({ format: 'strandwise study', version: 1, entries, raw })),
        null,
        1,
      );
      writeNew(resolve(around.cwd, target), `${text}\n`);
      around.tell(`Wrote ${entries.length} entries and ${raw.length} raw logs to ${target}.`);
    } finally {
      store.close();
    }
    return 0;
  },
};

export const importCommand: Command = {
  name: 'import',
  summary: 'make a study file from exported JSON',
  usage: 'import FILE.json STUDY',
  example: {
    line: 'strandwise import px-31.json copy.strandwise',
    says: 'checks every entry and hash first; nothing is written when one is wrong.',
  },
  options: {},
  run(given, around) {
    const [source, target] = given.rest;
    if (source === undefined || target === undefined)
      throw new UsageError('name the JSON file and the study file to write.');
    const exported = readDocument(resolve(around.cwd, source), StudyExport);
    for (const { sha256: hash, name, ...content } of exported.raw) {
      if (sha256(bytesOf(content)) !== hash) {
        throw new InputFileError(
          source,
          `raw log "${name}" does not fit its hash ${hash.slice(0, 12)}…; it was altered. Nothing was written.`,
        );
      }
    }
    const store = sqliteStudyStore(resolve(around.cwd, target), { mode: 'create' });
    try {
      for (const { name, ...content } of exported.raw) store.putRaw(name, bytesOf(content));
      store.append(
        exported.entries.map(({ seq: _, ...entry }) => entry),
        0,
      );
      around.tell(`Wrote ${exported.entries.length} entries to ${target}.`);
    } finally {
      store.close();
    }
    return 0;
  },
};

function rawContent(hash: string, name: string, bytes: Uint8Array | undefined): RawContent {
  if (!bytes)
    throw new StudyFileError(
      'damaged',
      name,
      `raw bytes ${hash.slice(0, 12)}… are missing. Run "strandwise verify".`,
    );
  const text = new TextDecoder('utf-8').decode(bytes);
  const isText = Buffer.from(text, 'utf-8').equals(Buffer.from(bytes));
  return isText
    ? { sha256: hash, name, encoding: 'text', content: text }
    : { sha256: hash, name, encoding: 'base64', content: Buffer.from(bytes).toString('base64') };
}

const bytesOf = ({ encoding, content }: Pick<RawContent, 'encoding' | 'content'>): Uint8Array =>
  Buffer.from(content, encoding === 'text' ? 'utf-8' : 'base64');

function writeNew(path: string, text: string): void {
  try {
    writeFileSync(path, text, { flag: 'wx' });
  } catch (error) {
    const { code } = error as { code?: string };
    if (code === 'EEXIST')
      throw new UsageError(
        `${path} is there already; choose another name. Nothing was overwritten.`,
      );
    if (code === 'ENOENT') throw new UsageError(`the folder of ${path} does not exist.`);
    throw error;
  }
}
