import { type Field, fieldProblem, fields, type Values } from './fields.ts';
import { type Filled, type FormBase, filledDescription, valuesFrom } from './filled-description.ts';

/** The form as it stands. Every field keeps what was typed, right or wrong. */
export interface NewScreen {
  readonly at: number;
  /** True until a key changes the field in hand: then typing starts it anew. */
  readonly isFresh: boolean;
  readonly values: Values;
  /** What the library lends. */
  readonly base: FormBase;
  readonly notice: string | null;
  readonly outcome: 'asking' | 'made' | 'left';
}

/** The form as it opens, with what the library lends already in it. */
export const openingForm = (base: FormBase = {}): NewScreen => ({
  at: 0,
  isFresh: true,
  values: {
    ...Object.fromEntries(fields.map(({ key, initial }) => [key, initial])),
    ...valuesFrom(base),
  },
  base,
  notice: null,
  outcome: 'asking',
});

export type NewIntent =
  | { readonly kind: 'move'; readonly by: 1 | -1 }
  | { readonly kind: 'typed'; readonly text: string }
  | { readonly kind: 'erased' }
  | { readonly kind: 'next' }
  | { readonly kind: 'make' }
  | { readonly kind: 'leave' };

export const fieldAt = ({ at }: NewScreen): Field => fields[at]!;

export function reduceNew(screen: NewScreen, intent: NewIntent): NewScreen {
  const field = fieldAt(screen);
  const value = screen.values[field.key] ?? '';
  switch (intent.kind) {
    case 'move':
      return {
        ...screen,
        notice: null,
        isFresh: true,
        at: Math.max(0, Math.min(fields.length - 1, screen.at + intent.by)),
      };
    case 'typed':
      return withValue(screen, field, (screen.isFresh ? '' : value) + intent.text);
    case 'erased':
      return withValue(screen, field, [...value].slice(0, -1).join(''));
    case 'next': {
      const says = fieldProblem(field, value);
      if (says !== null) return { ...screen, notice: says };
      return screen.at === fields.length - 1
        ? reduceNew(screen, { kind: 'make' })
        : { ...screen, notice: null, isFresh: true, at: screen.at + 1 };
    }
    case 'make': {
      const filled: Filled = filledDescription(screen.values, screen.base);
      if (filled.kind === 'description') return { ...screen, outcome: 'made' };
      return {
        ...screen,
        notice: filled.says,
        isFresh: true,
        at: Math.max(
          0,
          fields.findIndex(({ key }) => key === filled.field),
        ),
      };
    }
    case 'leave':
      return { ...screen, outcome: 'left' };
  }
}

const withValue = (screen: NewScreen, { key }: Field, value: string): NewScreen => ({
  ...screen,
  notice: null,
  isFresh: false,
  values: { ...screen.values, [key]: value },
});
