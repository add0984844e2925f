import { normalQuantile, type ResponseFit } from '@strandwise/core';
import { type Line, line } from '../terminal/line.ts';
import { figures } from '../terminal/number.ts';
import { scatterLines } from '../terminal/scatter.ts';
import type { Theme } from '../theme.ts';
import { told } from './told.ts';

type LenthReport = NonNullable<ResponseFit['lenth']>;

/** A saturated two-level plan by Lenth: the words, and sizes over half-normal scores. */
export function lenthLines({ lenth }: ResponseFit, columns: number, theme: Theme): Line[] {
  if (!lenth) return [];
  const { pse, me, sme, simulated } = lenth;
  const beyond = (limit: number): string =>
    lenth.effects
      .filter(({ effect }) => Math.abs(effect) > limit)
      .map(({ name }) => name)
      .join(', ') || 'none';
  const each = simulated.each * pse;
  const largest = simulated.largest * pse;
  return [
    line('   as many effects as runs: sizes beside their own noise (Lenth)', 'quiet'),
    ...told(
      `Pseudo standard error ${figures(pse)}. Limits simulated (${simulated.draws} studies of noise alone, seed ${simulated.seed}): one effect ${figures(each)}, the largest of all ${figures(largest)}. Lenth’s own t limits: ${figures(me)} and ${figures(sme)}.`,
      columns,
      { indent: 5 },
    ),
    ...told(
      `Surely beyond noise: ${beyond(largest)}. Beyond the limit of one: ${beyond(each)}.`,
      columns,
      {
        indent: 5,
        role: 'strong',
      },
    ),
    ...halfNormal(lenth, { each, largest }, columns, theme),
  ];
}

const LETTERS = 'abcdefghijklmnopqrstuvwxyz';

/** Each effect that stands out gets a letter, told below the picture; the rest are dots. */
function halfNormal(
  { effects }: LenthReport,
  limits: { readonly each: number; readonly largest: number },
  columns: number,
  theme: Theme,
): Line[] {
  const sorted = [...effects].sort((a, b) => Math.abs(a.effect) - Math.abs(b.effect));
  const m = sorted.length;
  const named = sorted.filter(({ effect }) => Math.abs(effect) > limits.each).reverse();
  const letter = (name: string): string => {
    const at = named.findIndex((effect) => effect.name === name);
    return at < 0 ? (theme.isUnicode ? '·' : '.') : (LETTERS[at] ?? '?');
  };
  const marks = sorted.map(({ name, effect }, i) => ({
    x: normalQuantile(0.5 + (0.5 * (i + 0.5)) / m),
    y: Math.abs(effect),
    mark: letter(name),
    role: letter(name) === '·' || letter(name) === '.' ? ('plain' as const) : ('strong' as const),
  }));
  const guides = [
    { at: limits.each, says: 'one' },
    { at: limits.largest, says: 'largest' },
  ];
  const key = named.map(({ name, effect }) => `${letter(name)} ${name} ${figures(effect)}`);
  return [
    ...scatterLines(
      { marks, guides, x: 'half-normal score', y: 'size of effect' },
      { width: Math.min(columns, 72), height: 12 },
      theme,
    ),
    ...told(key.join('   '), columns, { indent: 5 }),
  ];
}

/** The two stages of a definitive screening plan. */
export function twoStageLines({ screening }: ResponseFit, columns: number): Line[] {
  if (!screening) return [];
  const { says, errorSd, errorDf, mainEffects } = screening;
  const width = Math.max(...mainEffects.map(({ name }) => [...name].length));
  return [
    line('   definitive screening in two stages', 'quiet'),
    ...told(says, columns, { indent: 5 }),
    ...told(`Error SD ${figures(errorSd)} on ${errorDf} df, idle main effects included.`, columns, {
      indent: 5,
    }),
    ...mainEffects.map(({ name, estimate, t, p, isActive }) =>
      line(
        `     ${name.padEnd(width)} ${figures(estimate).padStart(9)}  t ${t.toFixed(2).padStart(6)}  p ${p < 0.001 ? '< 0.001' : p.toFixed(3)}${isActive ? '  goes on' : ''}`,
        isActive ? 'strong' : 'plain',
      ),
    ),
  ];
}
