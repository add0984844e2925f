import { type ConformanceMapData, conformanceMap } from './conformance-map.ts';
import { type ContourData, contourFigure } from './contour.ts';
import { type EffectPlotData, effectPlot } from './effect-plot.ts';
import { type HistogramData, histogram } from './histogram.ts';
import { type InfluenceBarsData, influenceBars } from './influence-bars.ts';
import { type InteractionPlotData, interactionPlot } from './interaction-plot.ts';
import { type PowerBarsData, powerBars } from './power-bars.ts';
import { type RegionFractionData, regionFractionPlot } from './region-fraction.ts';
import {
  halfNormalPlot,
  normalQuantilePlot,
  type QuantilePlotData,
  type ResidualPlotData,
  residualPlot,
} from './residual-plot.ts';
import { type RunTimelineData, runTimeline } from './run-timeline.ts';
import { type ShareBarsData, shareBars } from './share-bars.ts';
import { type StripChartData, stripChart } from './strip-chart.ts';
import { type TraceGridData, traceGrid } from './trace-grid.ts';
import { type TracePlotData, tracePlot } from './trace-plot.ts';
import { type TradeOffPlotData, tradeOffPlot } from './trade-off-plot.ts';

/** Any figure as plain data: what a page, or a command that writes one SVG file, is given. */
export type Figure =
  | ({ readonly kind: 'contour' } & ContourData)
  | ({ readonly kind: 'conformance-map' } & ConformanceMapData)
  | ({ readonly kind: 'effects' } & EffectPlotData)
  | ({ readonly kind: 'histogram' } & HistogramData)
  | ({ readonly kind: 'influence' } & InfluenceBarsData)
  | ({ readonly kind: 'interaction' } & InteractionPlotData)
  | ({ readonly kind: 'power' } & PowerBarsData)
  | ({ readonly kind: 'region-fraction' } & RegionFractionData)
  | ({ readonly kind: 'half-normal' } & QuantilePlotData)
  | ({ readonly kind: 'normal-quantile' } & QuantilePlotData)
  | ({ readonly kind: 'residuals' } & ResidualPlotData)
  | ({ readonly kind: 'timeline' } & RunTimelineData)
  | ({ readonly kind: 'shares' } & ShareBarsData)
  | ({ readonly kind: 'strip' } & StripChartData)
  | ({ readonly kind: 'trace' } & TracePlotData)
  | ({ readonly kind: 'trace-grid' } & TraceGridData)
  | ({ readonly kind: 'trade-off' } & TradeOffPlotData);

/** The figure as SVG; ids start with `prefix`, which must differ between figures of one page. */
export function figureSvg(figure: Figure, prefix: string): string {
  switch (figure.kind) {
    case 'contour':
      return contourFigure(figure, prefix);
    case 'conformance-map':
      return conformanceMap(figure, prefix);
    case 'effects':
      return effectPlot(figure, prefix);
    case 'histogram':
      return histogram(figure, prefix);
    case 'influence':
      return influenceBars(figure, prefix);
    case 'interaction':
      return interactionPlot(figure, prefix);
    case 'power':
      return powerBars(figure, prefix);
    case 'region-fraction':
      return regionFractionPlot(figure, prefix);
    case 'half-normal':
      return halfNormalPlot(figure, prefix);
    case 'normal-quantile':
      return normalQuantilePlot(figure, prefix);
    case 'residuals':
      return residualPlot(figure, prefix);
    case 'timeline':
      return runTimeline(figure, prefix);
    case 'shares':
      return shareBars(figure, prefix);
    case 'strip':
      return stripChart(figure, prefix);
    case 'trace':
      return tracePlot(figure, prefix);
    case 'trace-grid':
      return traceGrid(figure, prefix);
    case 'trade-off':
      return tradeOffPlot(figure, prefix);
  }
}
