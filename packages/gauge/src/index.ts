// The face of the package.
export * from './file/fault-tally.ts';
export { type LogParser, type LogParserOptions, logParser } from './file/log-parser.ts';
export * from './file/read-log.ts';
export * from './format/guess-line-format.ts';
export * from './format/line-format.ts';
export { type LineReader, lineReader, type RowFault } from './format/line-reader.ts';
export * from './gauge-error.ts';
export { type FileSourceOptions, fileSource } from './live/file-source.ts';
export { type LineSplitter, lineSplitter } from './live/line-splitter.ts';
export { type LiveOptions, type LiveReader, liveReader, type Ticking } from './live/live-reader.ts';
export { type SerialSourceOptions, serialPorts, serialSource } from './live/serial-source.ts';
export { sourceEvents } from './live/source-events.ts';
export { type TcpSourceOptions, tcpSource } from './live/tcp-source.ts';
