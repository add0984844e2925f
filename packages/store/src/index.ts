export { canonicalJson, chainedHash, sha256 } from './hash.ts';
export { memoryLibrary } from './library/memory-library.ts';
export { librarySchemaVersion } from './library/schema.ts';
export { sqliteLibrary } from './library/sqlite-library.ts';
export { memoryStudyStore } from './memory-study-store.ts';
export { schemaVersion } from './schema.ts';
export { type SqliteOptions, sqliteStudyStore } from './sqlite-study-store.ts';
export { StudyFileError, type StudyFileProblem } from './study-file-error.ts';
