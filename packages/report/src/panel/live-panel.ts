import {
  conformanceModel,
  type Factor,
  feasibilityAt,
  modelMatrix,
  pointFromSettings,
  polynomial,
  type Requirement,
  type ResponseSurface,
  termRow,
} from '@strandwise/core';
import type { PanelChance, PanelModel, SurfaceData } from './panel-model.ts';

/** The panel's model with everything computed once that settings do not change. */
export interface LivePanel {
  readonly model: PanelModel;
  readonly surfaces: readonly LiveSurface[];
  /** Chance of conforming at coded settings; null when it cannot be said. */
  readonly chance: ((settings: Float64Array) => number) | null;
}

export interface LiveSurface {
  readonly unit: string | undefined;
  readonly surface: ResponseSurface;
  /** Of this response alone. */
  readonly requirements: readonly Requirement[];
}

/** Makes the surfaces and the joint distribution anew from their data. */
export function livePanel(model: PanelModel): LivePanel {
  const surfaces = model.responses.map(
    ({ unit, surface }): LiveSurface => ({
      unit,
      surface: liveSurface(surface, model.factors),
      requirements: model.requirements.filter(({ response }) => response === surface.name),
    }),
  );
  return {
    model,
    surfaces,
    chance: model.chance ? liveChance(model.chance, surfaces, model) : null,
  };
}

function liveSurface(data: SurfaceData, factors: readonly Factor[]): ResponseSurface {
  const rowInto = termRow(data.terms, factors);
  const row = (settings: Float64Array): Float64Array => {
    const target = new Float64Array(data.terms.length);
    rowInto(target, settings);
    return target;
  };
  return { ...data, mean: polynomial(data.terms, data.coefficients, factors), row, rowInto };
}

function liveChance(
  { strand, correlation, wander, seed }: PanelChance,
  surfaces: readonly LiveSurface[],
  { factors }: PanelModel,
): LivePanel['chance'] {
  const judged = surfaces.flatMap(({ surface, requirements }) =>
    requirements.map((requirement) => ({ requirement, surface })),
  );
  if (judged.length === 0 || judged.some(({ surface }) => !surface.belief)) return null;
  const joint = conformanceModel({
    judged,
    strandForms: strandForms(strand, factors),
    ...(correlation ? { correlation } : {}),
    ...(wander ? { wander } : {}),
    seed,
  });
  return (settings) => joint.at(settings).probability;
}

function strandForms(
  strand: PanelChance['strand'],
  factors: readonly Factor[],
): (settings: Float64Array) => number {
  if (!strand || strand.result.kind === 'all-run') return () => 1;
  const { result, terms } = strand;
  if (result.kind === 'none-run') return () => 0;
  return (settings) => {
    const row = modelMatrix(terms, [pointFromSettings(settings, factors)], factors).data;
    return feasibilityAt(result, row).runs;
  };
}
