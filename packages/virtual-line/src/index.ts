// The face of the package: a physical model of a benchtop filament line.
export * from './cell.ts';
export * from './demo-scenario.ts';
export * from './gauge-log.ts';
export * from './live/growing-file.ts';
export * from './live/pace.ts';
export * from './live/serial-pair.ts';
export * from './live/tcp-server.ts';
export * from './look.ts';
export * from './noise.ts';
export * from './random-grade.ts';
export * from './steady-state.ts';
export * from './true-optimum.ts';
export * from './virtual-grade.ts';
export * from './virtual-line.ts';
