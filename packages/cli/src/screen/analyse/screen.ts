import type {
  CellInfluence,
  FitResult,
  Model,
  NextStep,
  Powers,
  Predictor,
  Recommendation,
  ResponseModels,
  StudyState,
} from '@strandwise/core';
import type { TradedSettings } from '../../analysis/traded-settings.ts';

/** The screens of the analyst, in the order of reading. */
export const screenNames = [
  'matters',
  'model',
  'surface',
  'residuals',
  'window',
  'next',
  'trade',
] as const;
export type ScreenName = (typeof screenNames)[number];

/** Two factors that are moved over, all others pinned where `place` has them. */
export interface SurfaceView {
  /** Factor indices across and up. */
  readonly x: number;
  readonly y: number;
  /** Settings in the order of the factors, coded; a named level by its index. */
  readonly place: readonly number[];
  /** The pinned factor that plus and minus move. */
  readonly pinned: number | null;
}

/** What the analyst looks at; apart from the study itself. */
export interface AnalyseScreen {
  readonly at: ScreenName;
  readonly response: number;
  /** First line shown of a screen longer than the terminal. */
  readonly scroll: number;
  /** The term under the cursor of the model screen. */
  readonly term: number;
  /** The check whose picture is shown. */
  readonly check: number;
  readonly surface: SurfaceView | null;
  /** The setting of the front that is told in full, and the response across its picture. */
  readonly traded: number;
  readonly tradedAcross: number;
  /** Models tried and not recorded. */
  readonly tried: ResponseModels;
  readonly hasKeys: boolean;
  readonly notice: string | null;
  readonly isLeaving: boolean;
}

export const openingAnalysis: AnalyseScreen = {
  at: 'matters',
  response: 0,
  scroll: 0,
  term: 0,
  check: 0,
  surface: null,
  traded: 0,
  tradedAcross: 0,
  tried: {},
  hasKeys: false,
  notice: null,
  isLeaving: false,
};

/** A term that can stand in a model, with whether it does. */
export interface OfferedTerm {
  readonly name: string;
  readonly powers: readonly Powers[];
  readonly isIn: boolean;
}

/** What takes long to know: asked for by its screen, worked out after the screen is drawn. */
export type Worked<T> =
  | { readonly kind: 'working' }
  | { readonly kind: 'known'; readonly value: T };

/** What is true of the study and its fit at this moment. */
export interface AnalyseFacts {
  readonly study: StudyState;
  readonly asked: number;
  readonly models: ResponseModels;
  /** Models as they stand without what was tried. */
  readonly kept: ResponseModels;
  readonly result: FitResult;
  /** The fits of `kept`, to compare with. */
  readonly before: FitResult;
  readonly predictor: Predictor;
  /** Terms offered to the response looked at, in the order of the largest model. */
  readonly offered: readonly OfferedTerm[];
  /** The best model of the response looked at, by AICc; null where none is sought. */
  readonly best: Model | null;
  readonly window: Worked<Recommendation>;
  /** The recommendation without what was tried. */
  readonly windowBefore: Worked<Recommendation>;
  /** The front between spread, bubbles and output; null when there is nothing to trade. */
  readonly traded: Worked<TradedSettings | null>;
  readonly next: Worked<readonly NextStep[]>;
  readonly influences: Worked<readonly CellInfluence[]>;
  /** How far the screen shown can be scrolled, and by how much a page goes. */
  readonly mostScroll: number;
  readonly page: number;
}

export type AnalyseIntent =
  | { readonly kind: 'go to'; readonly at: ScreenName }
  | { readonly kind: 'response'; readonly by: 1 | -1 }
  | {
      readonly kind: 'move';
      readonly dx: -1 | 0 | 1;
      readonly dy: -1 | 0 | 1;
      readonly isFar: boolean;
    }
  | { readonly kind: 'axis'; readonly axis: 'x' | 'y' }
  | { readonly kind: 'pin' }
  | { readonly kind: 'pinned'; readonly by: 1 | -1 }
  | { readonly kind: 'centre' }
  | { readonly kind: 'page'; readonly by: 1 | -1 }
  | { readonly kind: 'toggle' }
  | { readonly kind: 'model'; readonly which: 'best' | 'all' | 'kept' }
  | { readonly kind: 'record' }
  | { readonly kind: 'keys' }
  | { readonly kind: 'leave' };

/** What the reducer asks the outside to do. */
export type AnalyseDeed =
  | { readonly kind: 'choose model'; readonly response: string; readonly model: Model }
  | { readonly kind: 'propose recipe' };

export interface AnalyseStep {
  readonly screen: AnalyseScreen;
  readonly deeds: readonly AnalyseDeed[];
}
