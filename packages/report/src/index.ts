// The face of the package, a section a folder.

// figure
export * from './figure/conformance-map.ts';
export * from './figure/contour.ts';
export * from './figure/effect-plot.ts';
export * from './figure/figure.ts';
export * from './figure/histogram.ts';
export * from './figure/influence-bars.ts';
export * from './figure/interaction-plot.ts';
export { failureOutcomes, type Outcome, outcomeWords } from './figure/mark.ts';
export { scaleColor } from './figure/palette.ts';
export * from './figure/power-bars.ts';
export * from './figure/region-fraction.ts';
export * from './figure/residual-plot.ts';
export * from './figure/run-timeline.ts';
export * from './figure/scale.ts';
export type { ScatterPoint } from './figure/scatter.ts';
export * from './figure/share-bars.ts';
export * from './figure/strip-chart.ts';
export * from './figure/trace-grid.ts';
export * from './figure/trace-plot.ts';
export * from './figure/trade-off-plot.ts';

// format
export * from './format/decimal-alignment.ts';
export * from './format/number.ts';
export * from './format/uncertainty.ts';
export * from './format/unit.ts';

// markup
export { escaped } from './markup/markup.ts';
// page
export * from './page/card-page.ts';
export * from './page/input.ts';
export { termTable, varianceTable } from './page/model.ts';
export { predictionTable } from './page/recipe.ts';
export { runLogTable } from './page/run-log.ts';
export * from './page/run-sheet.ts';
export * from './page/study-page.ts';
// panel
export { type LivePanel, livePanel } from './panel/live-panel.ts';
export { panelFromJson, panelJson } from './panel/panel-json.ts';
export { type MapView, panelMap } from './panel/panel-map.ts';
export * from './panel/panel-model.ts';
export { type PanelPrediction, type PanelReading, panelReading } from './panel/panel-prediction.ts';
// table
export * from './table/csv.ts';
export { type Cell, type Column, type Table, tableCsv } from './table/table.ts';
export * from './table/table-json.ts';
