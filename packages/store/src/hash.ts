import { createHash } from 'node:crypto';
import type { RawReference } from '@strandwise/core';

export const sha256 = (bytes: Uint8Array | string): string =>
  createHash('sha256').update(bytes).digest('hex');

/** JSON with keys in order, so that equal values have equal text on every machine. */
export function canonicalJson(value: unknown): string {
  return JSON.stringify(value, (_, inner: unknown) =>
    inner !== null && typeof inner === 'object' && !Array.isArray(inner)
      ? Object.fromEntries(Object.entries(inner).sort(([a], [b]) => (a < b ? -1 : 1)))
      : inner,
  );
}

/**
 * The hash of an entry: over the hash before it and its own text as stored, so that no entry can be
 * altered, dropped or put elsewhere alone.
 */
export const chainedHash = (previous: string, body: string): string =>
  sha256(`${previous}\n${body}`);

export const rawReference = (name: string, bytes: Uint8Array): RawReference => ({
  sha256: sha256(bytes),
  name,
  bytes: bytes.byteLength,
});
