/** Why a study file cannot be used: in words, with what to do. The system's own error is the cause. */
export class StudyFileError extends Error {
  readonly code: StudyFileProblem;
  readonly path: string;

  constructor(code: StudyFileProblem, path: string, says: string, cause?: unknown) {
    super(`${path}: ${says}`, { cause });
    this.name = 'StudyFileError';
    this.code = code;
    this.path = path;
  }
}

export type StudyFileProblem =
  | 'missing'
  | 'exists'
  | 'not_a_study'
  | 'damaged'
  | 'newer'
  | 'locked'
  | 'full'
  | 'read_only'
  | 'unreadable';

/** Turns what SQLite or the system reports into a problem with a next step. */
export function studyFileError(error: unknown, path: string): StudyFileError {
  if (error instanceof StudyFileError) return error;
  const code = String((error as { code?: unknown } | null)?.code ?? '');
  const of = (problem: StudyFileProblem, says: string): StudyFileError =>
    new StudyFileError(problem, path, says, error);
  if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED')) {
    return of(
      'locked',
      'another program is writing to this study. Close it there, then try again; nothing was lost.',
    );
  }
  if (code === 'SQLITE_FULL' || code === 'ENOSPC' || code === 'EDQUOT') {
    return of(
      'full',
      'the disk is full, so the entry was not written. Free some space, then enter it again; earlier entries are safe.',
    );
  }
  if (code.startsWith('SQLITE_READONLY') || code === 'EROFS') {
    return of(
      'read_only',
      'the study is on a read-only disk or folder, so nothing can be written. Copy it to a writable place.',
    );
  }
  if (code === 'SQLITE_CORRUPT' || code.startsWith('SQLITE_CORRUPT')) {
    return of(
      'damaged',
      'the file is damaged or cut short. Restore a copy, or run "strandwise verify" to see what can be read.',
    );
  }
  if (code === 'SQLITE_NOTADB') {
    return of('not_a_study', 'this is not a study file. Make one with "strandwise new".');
  }
  if (code.startsWith('SQLITE_CANTOPEN') || code === 'EACCES' || code === 'EPERM') {
    return of(
      'unreadable',
      'the file cannot be opened. Check that the folder exists and that you may read and write it.',
    );
  }
  if (code.startsWith('SQLITE_IOERR') || code === 'EIO') {
    return of(
      'unreadable',
      'the disk reported a fault, so the last entry may not be written. Check the disk, then run "strandwise verify".',
    );
  }
  return of('unreadable', `the file cannot be used (${(error as Error).message}).`);
}
