import type {
  Factor,
  FeasibilityResult,
  Grade,
  Line,
  LinearConstraint,
  Powers,
  Product,
  Requirement,
  ResidualCorrelation,
  ResponseSurface,
  SetPoints,
  SetUpWander,
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

/** A fitted surface as plain data; the functions of it are made anew in the page. */
export type SurfaceData = Omit<ResponseSurface, 'mean' | 'row' | 'rowInto'>;

/** A fitted response. A surface taken from core serves as it stands. */
export interface PanelResponse {
  readonly unit?: string;
  readonly surface: SurfaceData;
}

/** What the chance of conforming needs besides surfaces and requirements. */
export interface PanelChance {
  readonly says: string;
  /** Where a strand forms: the fit, and the terms its rows are made of; null where no failure was met. */
  readonly strand: { readonly result: FeasibilityResult; readonly terms: readonly Powers[] } | null;
  readonly correlation?: ResidualCorrelation;
  readonly wander?: SetUpWander;
  readonly seed: number;
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
  /** Share of intervals that hold, in (0, 1). */
  readonly confidence: number;
  readonly responses: readonly PanelResponse[];
  /** What a conforming product must keep, by response. */
  readonly requirements: readonly Requirement[];
  readonly chance?: PanelChance;
  /** A contour that follows the settings: one response over two numeric factors. */
  readonly map?: {
    readonly response: string;
    readonly x: string;
    readonly y: string;
    readonly levels?: readonly number[];
  };
}
