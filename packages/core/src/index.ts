// The face of the package, a section a folder. Add a file's exports under its folder.

// error
export * from './error/domain-error.ts';

// factor
export * from './factor/coding.ts';
export * from './factor/factor.ts';
// linear
export * from './linear/cholesky.ts';
export * from './linear/dense.ts';
export * from './linear/eigen.ts';
export * from './linear/qr.ts';
export * from './linear/refinement.ts';
export * from './linear/triangular.ts';
// random
export * from './random/uniform.ts';

// spec
export * from './spec/spec.ts';
// term
export * from './term/model-matrix.ts';
export * from './term/term.ts';

// distribution

// design
export * from './design/design.ts';
// fit
export * from './fit/aliased.ts';
export * from './fit/least-squares.ts';
// schedule
export * from './schedule/planned-run.ts';

// surface

// measurement
export * from './measurement/log.ts';
// study
export * from './study/event.ts';
export * from './study/fold.ts';
export * from './study/journal.ts';
export * from './study/ports.ts';
export * from './study/refusal.ts';
export * from './study/state.ts';
// trade
export * from './trade/grade.ts';
export * from './trade/line.ts';
