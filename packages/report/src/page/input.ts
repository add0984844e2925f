import type { Figure } from '../figure/figure.ts';
import type { Outcome } from '../figure/mark.ts';
import type { PanelModel } from '../panel/panel-model.ts';
import type { Table } from '../table/table.ts';

/** A named fact in words: "seed", "20817". */
export interface Fact {
  readonly name: string;
  readonly value: string;
}

/** A figure under a caption that answers the question it was drawn for. */
export interface CaptionedFigure {
  readonly caption: string;
  /** How to read it, where the axes alone do not say. */
  readonly note?: string;
  readonly figure: Figure;
}

/** A fitted value; the limits are null when nothing can judge it. */
export interface Estimate {
  readonly estimate: number;
  readonly low: number | null;
  readonly high: number | null;
}

/** One set point of the recipe, as the operator keys it in. */
export interface RecipeSetPoint {
  readonly name: string;
  readonly value: number | string;
  readonly unit?: string;
  readonly decimals?: number;
  /** How far it may go with the others held. */
  readonly window?: { readonly low: number; readonly high: number };
}

/** What the recipe should give. Intervals hold with `Recipe.confidence`. */
export interface RecipePrediction {
  readonly response: string;
  readonly unit?: string;
  readonly mean: Estimate;
  /** Where one new set-up will fall. */
  readonly newRun?: { readonly low: number; readonly high: number };
  /** The limit it is held against, in words: "at most 12 µm". */
  readonly wanted?: string;
}

export type Recipe =
  | {
      readonly kind: 'recommended';
      readonly sentence: string;
      /** What the small figures under the set points are; said when there are any. */
      readonly windowSays?: string;
      readonly setPoints: readonly RecipeSetPoint[];
      readonly predictions: readonly RecipePrediction[];
      /** Confidence of the intervals in words: "95 %". */
      readonly confidence: string;
      readonly chance?: {
        readonly says: string;
        readonly estimate: number;
        /** What can be promised of it; absent when that was not judged. */
        readonly notBelow?: number;
        /** What the chance is made of, requirement by requirement. */
        readonly parts?: readonly Fact[];
      };
      /** How far the settings may wander and keep what is wanted. */
      readonly wander?: {
        readonly sentence: string;
        readonly amounts?: readonly { readonly name: string; readonly amount: string }[];
        readonly table?: Table;
      };
      readonly cautions: readonly string[];
    }
  | { readonly kind: 'none'; readonly sentence: string; readonly reasons: readonly string[] };

/** What matters for one response. */
export interface Finding {
  readonly response: string;
  readonly sentence: string;
  readonly figures: readonly CaptionedFigure[];
  /** Closer looks, folded away. */
  readonly closer?: readonly CaptionedFigure[];
}

/** What giving way in one response buys in another. */
export interface TradeOffPart {
  readonly sentence: string;
  readonly figure: CaptionedFigure;
  /** The numbered settings of the figure. */
  readonly table: Table;
}

export interface RunColumn {
  readonly name: string;
  readonly unit?: string;
  readonly decimals?: number;
}

/** One cell as it was run. */
export interface RunLogRow {
  readonly runOrder: number;
  readonly zoneSetting?: number;
  readonly setPoints: readonly (number | string)[];
  /** One entry a response; null where nothing was measured. */
  readonly responses: readonly (number | null)[];
  readonly outcome: Outcome;
  readonly reason?: string;
}

export interface RunLog {
  readonly sentence: string;
  readonly setPoints: readonly RunColumn[];
  readonly responses: readonly RunColumn[];
  readonly rows: readonly RunLogRow[];
  /** What every cell's log looked like. */
  readonly traces?: CaptionedFigure;
  readonly figures?: readonly CaptionedFigure[];
}

export interface PlanSummary {
  readonly sentence: string;
  readonly facts: readonly Fact[];
  readonly tables?: readonly Table[];
  readonly figures?: readonly CaptionedFigure[];
}

export interface TermRow {
  readonly name: string;
  readonly estimate: number;
  readonly standardError: number;
  readonly df: number | null;
  readonly statistic: number | null;
  readonly p: number | null;
}

/** A part of the scatter and the setting it comes from. */
export interface VarianceRow {
  readonly name: string;
  readonly sd: number;
  readonly low?: number;
  readonly high?: number;
  readonly df?: number;
}

/** A check of the model: what it says, and the picture behind it, under whose caption it is set. */
export interface ModelCheck {
  readonly sentence: string;
  readonly figure?: CaptionedFigure;
}

export interface ModelReport {
  readonly response: string;
  /** The verdict in one sentence: how much it explains and whether any check speaks against it. */
  readonly verdict: string;
  /** Method and scale in words: "split-plot REML on ln SD, coded units". */
  readonly sentence: string;
  /** Letter of the statistic: t, or z where no degrees of freedom are spent. */
  readonly statistic: 't' | 'z';
  readonly terms: readonly TermRow[];
  readonly facts: readonly Fact[];
  readonly variance: readonly VarianceRow[];
  readonly tables?: readonly Table[];
  readonly checks: readonly ModelCheck[];
}

export interface NextRuns {
  readonly sentence: string;
  /** What could be done, best first. */
  readonly steps?: readonly string[];
  /** Single cells that the recommendation hangs on. */
  readonly influences?: readonly string[];
  readonly table?: Table;
}

/**
 * Everything the page says, in its order. All numbers and sentences are made elsewhere; the page
 * only sets them.
 */
export interface StudyPageInput {
  readonly title: string;
  /** The answer in a sentence, for those who read nothing else. */
  readonly answer: string;
  /** Said on top of the page, such as that the data are invented. */
  readonly notice?: string;
  readonly job: readonly Fact[];
  readonly recipe: Recipe;
  /** Which factors move which response, all at once. */
  readonly overview?: CaptionedFigure;
  readonly findings: readonly Finding[];
  readonly surfaces: readonly CaptionedFigure[];
  /** Further views of the surfaces, folded away. */
  readonly moreSurfaces?: readonly CaptionedFigure[];
  readonly tradeOff?: TradeOffPart;
  readonly runs: RunLog;
  readonly plan: PlanSummary;
  readonly models: readonly ModelReport[];
  readonly cannotSay: readonly string[];
  readonly next: NextRuns | null;
  readonly provenance: readonly Fact[];
  /** Where each raw log can be checked. */
  readonly provenanceTables?: readonly Table[];
  /** The usual cautions, closing the page. */
  readonly cautions: readonly string[];
  /** The "try settings" panel: the bundled program and what it computes with. */
  readonly panel?: { readonly script: string; readonly data: PanelModel };
}
