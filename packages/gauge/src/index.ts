// The face of the package.
export * from './file/fault-tally.ts';
export { type LogParser, type LogParserOptions, logParser } from './file/log-parser.ts';
export * from './file/read-log.ts';
export * from './format/guess-line-format.ts';
export * from './format/line-format.ts';
export { type LineReader, lineReader, type RowFault } from './format/line-reader.ts';
export * from './gauge-error.ts';
