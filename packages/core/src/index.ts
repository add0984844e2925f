// The face of the package, a section a folder. Add a file's exports under its folder.

export * from './design/augment/axial-block.ts';
export * from './design/augment/centre-points.ts';
export * from './design/augment/fold-over.ts';
export * from './design/augment/replicate.ts';
// design
export * from './design/correlated-plots.ts';
export * from './design/design.ts';
export * from './design/family.ts';
export * from './design/family-definition.ts';
export { oneStart } from './design/optimal/one-start.ts';
export * from './design/optimal/optimal-design.ts';
export * from './design/optimal/problem.ts';
export type { OptimalRefusal } from './design/optimal/refusal.ts';
export { pointKind } from './design/point-kind.ts';
export * from './design/properties/alias-matrix.ts';
export * from './design/properties/cannot-tell.ts';
export * from './design/properties/degrees-of-freedom.ts';
export * from './design/properties/design-information.ts';
export * from './design/properties/design-properties.ts';
export * from './design/properties/efficiency.ts';
export { designLeverages } from './design/properties/leverage.ts';
export * from './design/properties/lost-cell.ts';
export * from './design/properties/prediction-curve.ts';
export * from './design/properties/prediction-variance.ts';
export * from './design/properties/term-correlation.ts';
export * from './design/properties/term-precision.ts';
export * from './design/properties/worst-prediction.ts';
export * from './design/response-surface/alpha.ts';
export { NaturalLimits } from './design/response-surface/limits.ts';
export { conferenceMatrix, conferenceOrders } from './design/screening/conference.ts';
export * from './design/screening/hadamard.ts';
export * from './design/screening/main-effect-overlap.ts';
export * from './design/two-level/block-confounding.ts';
export * from './design/two-level/clear-interactions.ts';
export * from './design/two-level/column-set.ts';
export * from './design/two-level/fraction-facts.ts';
export * from './design/two-level/fraction-words.ts';
export type { FactorPair } from './design/two-level/labelled-search.ts';
export * from './design/two-level/minimum-aberration.ts';
// distribution
export * from './distribution/beta.ts';
export * from './distribution/binomial.ts';
export * from './distribution/chi-squared.ts';
export * from './distribution/f.ts';
export * from './distribution/gamma.ts';
export { digamma, logGamma, trigamma } from './distribution/gamma-function.ts';
export * from './distribution/log-sd.ts';
export * from './distribution/noncentral-chi-squared.ts';
export * from './distribution/noncentral-f.ts';
export * from './distribution/noncentral-t.ts';
export * from './distribution/normal.ts';
export * from './distribution/poisson.ts';
export * from './distribution/power.ts';
export * from './distribution/student-t.ts';
export * from './distribution/studentized-range.ts';
export * from './distribution/tolerance-factor.ts';
// error
export * from './error/domain-error.ts';
// factor
export * from './factor/coding.ts';
export * from './factor/factor.ts';
export * from './factor/factor-kind.ts';
export * from './factor/zone-profile.ts';
export * from './fit/aliased.ts';
export * from './fit/anova.ts';
export * from './fit/bayes-split-plot.ts';
export * from './fit/box-cox.ts';
export { type ContrastTest, contrastTest } from './fit/contrast-test.ts';
// fit
export * from './fit/count-result.ts';
export { fitCounts } from './fit/counts.ts';
export * from './fit/determination.ts';
export * from './fit/effect.ts';
export * from './fit/feasibility.ts';
export * from './fit/interval.ts';
export * from './fit/lack-of-fit.ts';
export * from './fit/least-squares.ts';
export * from './fit/lenth.ts';
export * from './fit/pass-fail.ts';
export * from './fit/pass-fail-result.ts';
export * from './fit/poisson-mixed.ts';
export * from './fit/quick-look.ts';
export type { RatioPrior } from './fit/ratio-prior.ts';
export * from './fit/replicate.ts';
export * from './fit/report/fit-result.ts';
export * from './fit/report/fit-table.ts';
export * from './fit/report/model-choice.ts';
export * from './fit/report/run-table.ts';
export * from './fit/run-diagnostics.ts';
export * from './fit/selection.ts';
export { fitSplitPlot } from './fit/split-plot.ts';
export type { SplitPlotPrior } from './fit/split-plot-posterior.ts';
export * from './fit/split-plot-result.ts';
export * from './fit/term-test.ts';
// linear
export * from './linear/cholesky.ts';
export * from './linear/dense.ts';
export * from './linear/eigen.ts';
export * from './linear/qr.ts';
export * from './linear/refinement.ts';
export * from './linear/triangular.ts';
// measurement
export * from './measurement/autocorrelation.ts';
export * from './measurement/descriptive.ts';
export * from './measurement/even-grid.ts';
export * from './measurement/fourier.ts';
export * from './measurement/gauge-floor.ts';
export * from './measurement/gauge-watch.ts';
export * from './measurement/head-cut.ts';
export * from './measurement/log.ts';
export * from './measurement/measured-responses.ts';
export * from './measurement/periodic-cause.ts';
export * from './measurement/periodic-part.ts';
export * from './measurement/screw-line.ts';
export * from './measurement/settled-stretch.ts';
export * from './measurement/settling-light.ts';
export * from './measurement/settling-watch.ts';
export * from './measurement/spectrum.ts';
export * from './measurement/spread.ts';
export * from './measurement/stretch.ts';
export * from './measurement/tolerance.ts';
export * from './measurement/trend.ts';
export * from './measurement/variance-ratio.ts';
export * from './measurement/words.ts';
// plan
export * from './plan/plan.ts';
// random
export * from './random/count-draw.ts';
export * from './random/gamma-draw.ts';
export * from './random/sample.ts';
export * from './random/scrambled-halton.ts';
export { exponentialDraw, standardNormal } from './random/standard-normal.ts';
export * from './random/uniform.ts';
// recipe
export * from './recipe/recommendation.ts';
export * from './recipe/requirement.ts';
export * from './recipe/strand-forms.ts';
// schedule
export * from './schedule/cost.ts';
export * from './schedule/hold.ts';
export * from './schedule/ordered-plan.ts';
export * from './schedule/planned-run.ts';
export * from './schedule/setting-sequence.ts';
export * from './schedule/time-trend.ts';
// spec
export * from './spec/spec.ts';
export * from './study/briefing.ts';
export * from './study/description.ts';
export * from './study/event.ts';
export * from './study/fold.ts';
export * from './study/journal.ts';
export * from './study/line-response.ts';
export * from './study/ports.ts';
export * from './study/reading-source.ts';
export * from './study/refusal.ts';
// study
export * from './study/run-table.ts';
export * from './study/state.ts';
// surface
export * from './surface/acceptable-window.ts';
export * from './surface/best-joint-desirability.ts';
export * from './surface/conformance.ts';
export * from './surface/desirability.ts';
export * from './surface/factor-effect.ts';
export * from './surface/feasible-region.ts';
export * from './surface/polynomial.ts';
export * from './surface/response-surface.ts';
export * from './surface/stationary-point.ts';
// term
export * from './term/model-matrix.ts';
export * from './term/term.ts';
export * from './term/term-value.ts';
// trade
export * from './trade/cautions.ts';
export * from './trade/changeover.ts';
export * from './trade/drying.ts';
export * from './trade/family-defaults.ts';
export * from './trade/family-table.ts';
export * from './trade/grade.ts';
export * from './trade/limits.ts';
export * from './trade/line.ts';
export * from './trade/output.ts';
export * from './trade/permission.ts';
export * from './trade/refusal.ts';
export * from './trade/shutdown.ts';
