export { canonicalJson, chainedHash, sha256 } from './hash.ts';
export { memoryStudyStore } from './memory-study-store.ts';
export { schemaVersion } from './schema.ts';
export { type SqliteOptions, sqliteStudyStore } from './sqlite-study-store.ts';
export { StudyFileError, type StudyFileProblem } from './study-file-error.ts';
