import type { PanelModel } from './panel-model.ts';

// JSON has neither typed arrays nor infinities, and surfaces hold both. Each becomes an object with
// one key, longer than the 40 characters that the name of a factor may have, so that no object of
// the model can be taken for it.
const arrayKey = 'float64 array, which JSON has no literal for';
const numberKey = 'infinite number, which JSON has no literal for';

/** The model as JSON text, from which `panelFromJson` makes the same numbers, bit by bit. */
export function panelJson(model: PanelModel): string {
  return JSON.stringify(model, (_, value: unknown) => {
    if (value instanceof Float64Array) return { [arrayKey]: Array.from(value, plainNumber) };
    return typeof value === 'number' ? plainNumber(value) : value;
  });
}

export function panelFromJson(text: string): PanelModel {
  return JSON.parse(text, (_, value: unknown) => {
    if (typeof value !== 'object' || value === null) return value;
    const keys = Object.keys(value);
    if (keys.length !== 1) return value;
    const held: unknown = Object.values(value)[0];
    if (keys[0] === arrayKey && Array.isArray(held)) return Float64Array.from(held as number[]);
    return keys[0] === numberKey && typeof held === 'string' ? Number(held) : value;
  }) as PanelModel;
}

const plainNumber = (value: number): number | { [numberKey]: string } =>
  Number.isFinite(value) ? value : { [numberKey]: String(value) };
