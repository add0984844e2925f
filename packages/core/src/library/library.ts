import type { z } from 'zod';
import { RecipeCard } from '../release/recipe-card.ts';
import { Grade } from '../trade/grade.ts';
import { Line } from '../trade/line.ts';

/** What a lab keeps beside its studies, each kind with the schema that checks it. */
export const libraryKinds = { grade: Grade, line: Line, recipe: RecipeCard } as const;
export type LibraryKind = keyof typeof libraryKinds;
export type LibraryValue<K extends LibraryKind> = z.infer<(typeof libraryKinds)[K]>;

/** One revision of one record. Revisions count from 1 and are never changed. */
export interface LibraryEntry<K extends LibraryKind = LibraryKind> {
  readonly kind: K;
  readonly name: string;
  readonly revision: number;
  readonly at: string;
  readonly who: string;
  readonly value: LibraryValue<K>;
}

/** A study that was opened from here, so that it is found again. */
export interface RecentStudy {
  readonly path: string;
  readonly name: string;
  readonly at: string;
}

/**
 * Grades, lines and recipes of a lab. Studies are self-contained: what they take from here they copy, so
 * that a study reads the same on any machine and whatever the library says later.
 */
export interface Library {
  readonly place: string;
  /**
   * Keeps a record as its next revision, or returns the present one when nothing has changed.
   * @throws {DomainError} `library_value` when the value does not keep to its schema
   */
  keep<K extends LibraryKind>(
    kind: K,
    name: string,
    value: LibraryValue<K>,
    by: { readonly at: string; readonly who: string },
  ): LibraryEntry<K>;
  /** The latest revision, or the one asked for; undefined when there is none. Letter case is ignored. */
  entry<K extends LibraryKind>(
    kind: K,
    name: string,
    revision?: number,
  ): LibraryEntry<K> | undefined;
  /** The latest revision of every record of a kind, by name. */
  entries<K extends LibraryKind>(kind: K): LibraryEntry<K>[];
  /** Every revision of one record, oldest first. */
  history<K extends LibraryKind>(kind: K, name: string): LibraryEntry<K>[];
  noteStudy(study: RecentStudy): void;
  /** Latest opened first. */
  recentStudies(most: number): RecentStudy[];
  close(): void;
}
