import type { SetPoints, SurfacePrediction } from '@strandwise/core';
import {
  type TradedSetting,
  type TradedSettings,
  tradedWords,
} from '../../analysis/traded-settings.ts';
import { type Line, line, span } from '../../terminal/line.ts';
import { decimalsFor, figures, withinDoubt } from '../../terminal/number.ts';
import { scatterLines } from '../../terminal/scatter.ts';
import type { Theme } from '../../theme.ts';
import { unitOf } from '../../wording/response-unit.ts';
import { told } from '../../wording/told.ts';
import type { ScreenSize } from '../frame.ts';
import type { AnalyseFacts, AnalyseScreen } from './screen.ts';

const LETTERS = 'abcdefghijkl';

/**
 * The front between spread, bubbles and output: a picture of two of them, every setting on it in set
 * points with its fitted means, and the picked one in full with intervals and chance.
 */
export function tradeLines(
  screen: AnalyseScreen,
  facts: AnalyseFacts,
  { columns, rows }: ScreenSize,
  theme: Theme,
): Line[] {
  const { traded } = facts;
  if (traded.kind === 'working')
    return [line(), line('   Working out what trades against what …', 'quiet')];
  if (!traded.value)
    return [
      line(),
      ...told(
        'There is nothing to trade: fewer than two of spread, bubbles and output differ by more than their doubt over the settings worth having.',
        columns,
      ),
    ];
  const front = traded.value;
  const at = Math.min(screen.traded, front.settings.length - 1);
  const table = tableLines(front, at, facts, columns, theme);
  const detail = detailLines(front, at, facts, columns);
  const spoken = spokenLines(front, facts, columns);
  const room = rows - table.length - detail.length - 3;
  const isRoomy = room - spoken.length >= 6;
  const height = Math.min(16, isRoomy ? room - spoken.length : room);
  const size = { width: Math.min(columns, 90), height };
  return [
    // A small terminal keeps the numbers and does without the picture.
    ...(height < 3 ? [] : pictureLines(front, at, screen.tradedAcross, facts, size, theme)),
    ...table,
    ...detail,
    ...(isRoomy ? spoken : []),
  ];
}

function pictureLines(
  { responses, settings }: TradedSettings,
  at: number,
  turns: number,
  facts: AnalyseFacts,
  size: { readonly width: number; readonly height: number },
  theme: Theme,
): Line[] {
  const upright = responses.length - 1;
  const across = turns % upright;
  const name = (r: number): string => {
    const unit = unitOf(responses[r]!.name, facts.study);
    const better = responses[r]!.aim === 'smallest' ? 'less is better' : 'more is better';
    return `${responses[r]!.name}${unit === '' ? '' : `, ${unit}`} (${better})`;
  };
  const marks = settings.map(({ predictions, chance }, i) => {
    const isSure = chance !== null && chance.probability >= facts.asked;
    return {
      x: predictions[across]!.mean.value,
      y: predictions[upright]!.mean.value,
      // A capital keeps the chance asked, so that nothing needs colour.
      mark: isSure ? LETTERS[i]!.toUpperCase() : LETTERS[i]!,
      role: i === at ? ('changed' as const) : isSure ? ('good' as const) : ('plain' as const),
    };
  });
  return scatterLines({ marks, x: name(across), y: name(upright) }, size, theme);
}

function tableLines(
  { responses, settings }: TradedSettings,
  at: number,
  facts: AnalyseFacts,
  columns: number,
  theme: Theme,
): Line[] {
  const isNarrow = columns < 76;
  const values = responses.map((_, r) =>
    settings.map(({ predictions }) => meanText(predictions[r]!)),
  );
  const widths = responses.map(({ name }, r) =>
    Math.max(...values[r]!.map((text) => text.length), Math.min(12, `${shortName(name)}`.length)),
  );
  const points = settings.map(({ setPoints }) => settingText(setPoints, theme, isNarrow));
  const pointWidth = Math.max(...points.map((text) => [...text].length), 6);
  const heads = responses.map(({ name }, r) =>
    shortName(name).slice(0, widths[r]!).padStart(widths[r]!),
  );
  const head = isNarrow ? '' : `${'zones °C, screw rpm, fan %'.padEnd(pointWidth)}  `;
  return [
    line(
      `     ${head}${heads.join('  ')}  chance${isNarrow ? '' : ` (capital ≥ ${facts.asked})`}`,
      'quiet',
    ),
    ...settings.map((setting, i): Line => {
      const row = values.map((own, r) => own[i]!.padStart(widths[r]!)).join('  ');
      const pointer = i === at ? (theme.isUnicode ? '▸' : '>') : ' ';
      const where = isNarrow ? '' : `${points[i]!.padEnd(pointWidth)}  `;
      return [
        span(` ${pointer} ${letterOf(setting, i, facts)} ${where}`, i === at ? 'strong' : 'plain'),
        span(row, i === at ? 'strong' : 'plain'),
        span(`  ${chanceText(setting)}`, i === at ? 'strong' : 'plain'),
      ];
    }),
  ];
}

const letterOf = ({ chance }: TradedSetting, i: number, { asked }: AnalyseFacts): string =>
  chance && chance.probability >= asked ? LETTERS[i]!.toUpperCase() : LETTERS[i]!;

/** "SD of diameter" as "SD" where columns are narrow. */
const shortName = (name: string): string => name.split(' ')[0]!;

const chanceText = ({ chance }: TradedSetting): string =>
  chance ? chance.probability.toFixed(2) : '—';

/** The mean with the digits that its interval deserves. */
function meanText({ mean: { value, low, high } }: SurfacePrediction): string {
  return low === null || high === null
    ? figures(value)
    : value.toFixed(decimalsFor((high - low) / 2));
}

function settingText(
  { zonesCelsius, screwRpm, fanPercent, other }: SetPoints,
  theme: Theme,
  isNarrow: boolean,
): string {
  const zones = zonesCelsius.join(theme.isUnicode ? '·' : '/');
  const more = Object.entries(other).map(([name, value]) => `, ${name} ${value}`);
  return isNarrow
    ? `zones ${zones} °C, screw ${screwRpm} rpm, fan ${fanPercent} %${more.join('')}`
    : `${zones}  ${screwRpm.toFixed(1)}  ${fanPercent}${more.join('')}`;
}

/** The picked setting with the doubt of everything known of it. */
function detailLines(
  { settings }: TradedSettings,
  at: number,
  facts: AnalyseFacts,
  columns: number,
): Line[] {
  const setting = settings[at]!;
  const { setPoints, predictions, chance } = setting;
  const means = predictions.map(({ name, mean: { value, low, high } }) => {
    const unit = unitOf(name, facts.study);
    return `${name} ${withinDoubt(value, low, high)}${unit === '' ? '' : ` ${unit}`}`;
  });
  // A wide table has the set points already.
  const zones =
    columns < 76
      ? `zones ${setPoints.zonesCelsius.join('·')} °C, screw ${setPoints.screwRpm} rpm, fan ${setPoints.fanPercent} %; `
      : '';
  const sure = chance ? `; chance ${chance.says}` : '';
  const text = `${letterOf(setting, at, facts)}: ${zones}${means.join('; ')}${sure}`;
  return told(text, columns, { role: 'strong' });
}

const spokenLines = (front: TradedSettings, facts: AnalyseFacts, columns: number): Line[] =>
  told(
    tradedWords(front, (name, amount) => `${figures(amount, 2)} ${unitOf(name, facts.study)}`),
    columns,
    { role: 'quiet' },
  );
