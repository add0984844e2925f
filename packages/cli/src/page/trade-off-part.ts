import { type Chance, type Predictor, type SurfacePrediction, shareWords } from '@strandwise/core';
import {
  type Cell,
  fixed,
  interval,
  intervalDecimals,
  nameInUnit,
  noNumber,
  significantFigures,
  type Table,
  type TradedResponse,
  type TradeOffPart,
  withUnit,
} from '@strandwise/report';
import { type TradedSettings, tradedWords } from '../analysis/traded-settings.ts';
import type { PagedStudy } from './paged-study.ts';
import { counted } from './sentence.ts';
import { type SetPointKey, setPointKeys } from './setting.ts';

/** The front between spread, bubbles and output: its picture, and every setting on it in set points. */
export function tradeOffPart(study: PagedStudy): TradeOffPart | null {
  const { traded, asked, predictor, recipe } = study;
  if (!traded) return null;
  const unitOf = (name: string): string | undefined =>
    study.responses.find((response) => response.name === name)?.unit;
  const words = tradedWords(traded, (name, amount) =>
    withUnit(significantFigures(amount, 2), unitOf(name)),
  );
  const recommended = recipe
    ? traded.responses.flatMap(
        ({ name }) =>
          recipe.predictions.find((prediction) => prediction.name === name)?.mean.value ?? [],
      )
    : [];
  return {
    sentence: words,
    figure: {
      caption: frontCaption(traded, asked),
      note: 'Each number is a setting of the table below. Fitted means; the table has their intervals.',
      figure: {
        kind: 'trade-off',
        title: 'What trades against what',
        description: `${counted(traded.settings.length, 'setting')} that nothing betters in every response; the table below gives each in set points.`,
        responses: traded.responses.map(({ name, aim }) =>
          tradedResponse(name, aim, unitOf(name), predictor),
        ),
        points: traded.settings.map(({ predictions, chance }) => ({
          values: predictions.map(({ mean }) => mean.value),
          isSure: chance ? chance.probability >= asked : null,
        })),
        ...(recommended.length === traded.responses.length ? { recommended } : {}),
        sureSays: `chance of conforming ${asked} or more`,
      },
    },
    table: tradeOffTable(study, traded),
  };
}

function tradedResponse(
  name: string,
  aim: TradedResponse['aim'],
  unit: string | undefined,
  { judged }: Predictor,
): TradedResponse {
  const limits = judged.filter(({ requirement }) => requirement.response === name);
  const atMost = limits.find(({ requirement }) => requirement.atMost !== undefined);
  const atLeast = limits.find(({ requirement }) => requirement.atLeast !== undefined);
  return {
    label: name,
    aim,
    ...(unit === undefined ? {} : { unit }),
    ...(atMost ? { atMost: atMost.requirement.atMost! } : {}),
    ...(atLeast ? { atLeast: atLeast.requirement.atLeast! } : {}),
  };
}

/** The answer of the picture: whether speed can be had at all without losing the chance. */
function frontCaption({ settings }: TradedSettings, asked: number): string {
  const sure = settings.filter(({ chance }) => chance && chance.probability >= asked).length;
  if (settings.every(({ chance }) => chance === null))
    return 'What one response costs in the others';
  if (sure === 0) return `None of these settings reaches a chance of ${asked}`;
  if (sure === settings.length) return `All of these settings keep a chance of ${asked} or more`;
  return `${sure} of ${settings.length} keep a chance of ${asked} or more`;
}

/** The mean over its interval, without the unit, which the head of the column has. */
function meanCell({ mean: { value, low, high } }: SurfacePrediction): Cell {
  if (low === null || high === null) return { shown: significantFigures(value, 3) };
  const decimals = intervalDecimals(low, high);
  return { shown: fixed(value, decimals), below: interval(low, high, decimals) };
}

function tradeOffTable(study: PagedStudy, { responses, settings }: TradedSettings): Table {
  const keys = keysOf(study);
  const hasChance = settings.some(({ chance }) => chance);
  return {
    caption: 'The numbered settings: fitted means over their 95\u202f% intervals',
    columns: [
      { head: 'no.', holds: 'words' },
      ...keys.map(({ name, unit }) => ({
        head: nameInUnit(name, unit),
        holds: 'numbers' as const,
      })),
      ...responses.map(({ name }) => ({
        head: nameInUnit(name, unitIn(study, name)),
        holds: 'numbers' as const,
      })),
      ...(hasChance ? [{ head: 'chance of conforming', holds: 'numbers' as const }] : []),
    ],
    rows: settings.map(({ setPoints, predictions, chance }, i) => [
      String(i + 1),
      ...keys.map(({ value, decimals }) => {
        const at = value(setPoints);
        return typeof at === 'number' ? fixed(at, decimals) : at;
      }),
      ...predictions.map(meanCell),
      ...(hasChance ? [chanceCell(chance)] : []),
    ]),
  };
}

const chanceCell = (chance: Chance | null): Cell =>
  chance
    ? {
        shown: shareWords(chance.probability),
        below: `not below ${Math.floor(100 * chance.notBelow) / 100 >= 0.99 ? '0.99' : fixed(chance.notBelow, 2)}`,
      }
    : { shown: noNumber };

const keysOf = ({ state }: PagedStudy): SetPointKey[] =>
  setPointKeys(state.opened.line, state.opened.factors);

const unitIn = ({ responses }: PagedStudy, name: string): string | undefined =>
  responses.find((response) => response.name === name)?.unit;

/** The same with every number in a column of its own, for export. */
export function tradeOffExport(study: PagedStudy, { responses, settings }: TradedSettings): Table {
  const keys = keysOf(study);
  const numbers = (head: string) => ({ head, holds: 'numbers' as const });
  const cell = (value: number | null) => ({
    shown: value === null ? '' : String(value),
    exported: value,
  });
  return {
    caption: 'Settings that nothing betters in every response, with 95 % intervals',
    columns: [
      numbers('number'),
      ...keys.map(({ name, unit }) => numbers(nameInUnit(name, unit))),
      ...responses.flatMap(({ name }) => {
        const head = nameInUnit(name, unitIn(study, name));
        return [
          numbers(`${head}, mean`),
          ...['mean from', 'mean to', 'new set-up from', 'new set-up to'].map((what) =>
            numbers(`${head}, ${what}`),
          ),
        ];
      }),
      numbers('chance of conforming'),
      numbers('chance not below'),
    ],
    rows: settings.map(({ setPoints, predictions, chance }, i) => [
      cell(i + 1),
      ...keys.map(({ value }) => {
        const at = value(setPoints);
        return typeof at === 'number' ? cell(at) : at;
      }),
      ...predictions.flatMap(({ mean, next }) =>
        [mean.value, mean.low, mean.high, next.low, next.high].map(cell),
      ),
      cell(chance?.probability ?? null),
      cell(chance?.notBelow ?? null),
    ]),
  };
}
