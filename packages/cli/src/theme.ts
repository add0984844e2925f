/** What a piece of text is for; the theme decides how it looks. Nothing needs colour to be read. */
export type Role =
  | 'plain'
  | 'strong'
  | 'quiet'
  | 'good'
  | 'warning'
  | 'danger'
  | 'changed'
  /** Bands of a surface from low to high; the digit says the same. */
  | 'lowest'
  | 'low'
  | 'middle'
  | 'high'
  | 'highest';

export interface Glyphs {
  readonly rule: string;
  readonly up: string;
  readonly down: string;
  readonly barDone: string;
  readonly barLeft: string;
  readonly spark: readonly string[];
  readonly dot: string;
  readonly openDot: string;
  readonly bowl: string;
  readonly dome: string;
  readonly ok: string;
  readonly wait: string;
  readonly degree: string;
  readonly plusMinus: string;
  readonly times: string;
  readonly ellipsis: string;
  readonly arrow: string;
  readonly minus: string;
}

export interface Theme {
  readonly hasColour: boolean;
  readonly isUnicode: boolean;
  readonly glyphs: Glyphs;
  paint(role: Role, text: string): string;
}

const unicode: Glyphs = {
  rule: '─',
  up: '▲',
  down: '▼',
  barDone: '━',
  barLeft: '─',
  spark: [...'▁▂▃▄▅▆▇█'],
  dot: '●',
  openDot: '○',
  bowl: '◡',
  dome: '◠',
  ok: '✓',
  wait: '·',
  degree: '°',
  plusMinus: '±',
  times: '×',
  ellipsis: '…',
  arrow: '→',
  minus: '−',
};

const ascii: Glyphs = {
  rule: '-',
  up: '+',
  down: '-',
  barDone: '#',
  barLeft: '.',
  spark: [...'_.:-=+*#'],
  dot: '*',
  openDot: 'o',
  bowl: 'u',
  dome: 'n',
  ok: 'ok',
  wait: '.',
  degree: ' deg ',
  plusMinus: '+-',
  times: 'x',
  ellipsis: '...',
  arrow: '->',
  minus: '-',
};

/** SGR codes of the sixteen-colour set, so that any terminal over ssh shows them. */
const sgr: Readonly<Record<Role, string>> = {
  plain: '',
  strong: '1',
  quiet: '2',
  good: '32',
  warning: '33',
  danger: '31;1',
  changed: '36;1',
  lowest: '34',
  low: '36',
  middle: '37',
  high: '33',
  highest: '35',
};

export interface ThemeWish {
  readonly colour: boolean;
  readonly unicode: boolean;
}

export function themeOf({ colour, unicode: isUnicode }: ThemeWish): Theme {
  return {
    hasColour: colour,
    isUnicode,
    glyphs: isUnicode ? unicode : ascii,
    paint: (role, text) =>
      colour && sgr[role] !== '' ? `\u001B[${sgr[role]}m${text}\u001B[0m` : text,
  };
}

/** What the surroundings ask for: NO_COLOR, a dumb terminal, a locale without UTF-8, STRANDWISE_ASCII. */
export function themeWish(
  env: Readonly<Record<string, string | undefined>>,
  isTerminal: boolean,
): ThemeWish {
  const locale = env['LC_ALL'] || env['LC_CTYPE'] || env['LANG'] || '';
  const isPlainLocale = locale !== '' && !/utf-?8/i.test(locale);
  const isForced = (env['FORCE_COLOR'] ?? '0') !== '0';
  return {
    colour: isForced || (isTerminal && !env['NO_COLOR'] && env['TERM'] !== 'dumb'),
    unicode: env['STRANDWISE_ASCII'] === undefined && env['TERM'] !== 'linux' && !isPlainLocale,
  };
}
