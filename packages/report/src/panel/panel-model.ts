import type {
  Factor,
  Grade,
  Line,
  LinearConstraint,
  Powers,
  Product,
  SetPoints,
} from '@strandwise/core';

/** Ids by which the panel's program finds its place and its data in the page. */
export const panelRootId = 'try-panel';
export const panelDataId = 'try-data';
export const panelLinkId = 'try-link';

/** Which of the set points a control moves. */
export type PanelSetting =
  | {
      readonly kind: 'zone';
      /** Counted from 0 at the feed end. */
      readonly zone: number;
    }
  | { readonly kind: 'screw' }
  | { readonly kind: 'fan' }
  | { readonly kind: 'other'; readonly name: string };

/** One thing to set, on a scale or by a level's name. */
export type PanelControl = {
  readonly name: string;
  readonly sets: PanelSetting;
} & (
  | { readonly unit?: string; readonly low: number; readonly high: number; readonly step: number }
  | { readonly levels: readonly string[] }
);

/** A fitted response, as much of it as predicting needs. */
export interface PanelResponse {
  readonly name: string;
  readonly unit?: string;
  /** Scale of the fit: as it stands, natural logarithm, or logarithm of a rate. */
  readonly scale: 'identity' | 'ln' | 'log-rate';
  /** p terms in coded units. */
  readonly terms: readonly Powers[];
  /** Shape (p). */
  readonly coefficients: readonly number[];
  /** Covariance of the coefficients up to `covarianceScale`; shape (p, p), row-major. */
  readonly covariance: readonly number[];
  /** The residual variance when `covariance` is unscaled, 1 when it is the total. */
  readonly covarianceScale: number;
  /** Variance of one new set-up about its mean on the fit's scale; null where no such interval is made. */
  readonly newRunVariance: number | null;
  readonly df: number | null;
  /** Quantile that makes the interval: of t at `df`, or of the normal. */
  readonly quantile: number;
  /** Limits in the response's own unit. */
  readonly limits?: { readonly low?: number; readonly high?: number };
}

/** Draws of coefficients and of a new set-up's scatter from which the chance is counted. */
export interface PanelChance {
  readonly says: string;
  readonly responses: readonly {
    readonly response: string;
    /** One list of p coefficients a draw. */
    readonly coefficients: readonly (readonly number[])[];
    /** What a new set-up adds, one entry a draw, on the fit's scale; empty for the mean alone. */
    readonly scatter: readonly number[];
  }[];
}

/** Everything the "try settings" panel computes with. */
export interface PanelModel {
  readonly factors: readonly Factor[];
  /** Null when the plan was made without a line: then every factor stands in `start.other`. */
  readonly line: Line | null;
  /** With a line: the grade whose floor and ceiling no set point may leave. */
  readonly grade: Grade | null;
  /** With it the puller's range counts as well. */
  readonly product?: Pick<Product, 'diameterMm'>;
  /** The recommended settings, where the panel starts. */
  readonly start: SetPoints;
  readonly controls: readonly PanelControl[];
  /** Region limits, linear in coded units: hatched on the map, and refused. */
  readonly limits: readonly LinearConstraint[];
  /** Confidence of the intervals in words: "95 %". */
  readonly confidence: string;
  readonly responses: readonly PanelResponse[];
  readonly chance?: PanelChance;
  /** A contour that follows the settings: one response over two numeric factors. */
  readonly map?: {
    readonly response: string;
    readonly x: string;
    readonly y: string;
    readonly levels?: readonly number[];
  };
}
