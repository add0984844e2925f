/**
 * Colours of every figure. All text on `paper` and on any colour of the scale keeps the contrast of
 * WCAG 2.2 level AA (4.5 to 1); series differ by dash and label too, so that nothing needs colour.
 */
export const ink = '#17242c';
export const quiet = '#51626c';
export const rule = '#cfd6d9';
export const paper = '#ffffff';
export const accent = '#1c5a78';
export const warn = '#8c3a10';
export const wash = '#e4edf1';

export interface SeriesStyle {
  readonly color: string;
  readonly dash: string | undefined;
}

/** Styles for up to four series, told apart by dash before colour. */
export const seriesStyles: readonly SeriesStyle[] = [
  { color: accent, dash: undefined },
  { color: warn, dash: '7 4' },
  { color: '#4d5a14', dash: '2 3' },
  { color: '#5b3f7a', dash: '9 3 2 3' },
];

export const seriesStyle = (i: number): SeriesStyle => seriesStyles[i % seriesStyles.length]!;

// From straw through moss to a mid lake blue: OKLab anchors, lightness falling evenly, so that a grey
// print keeps the order and the blue–yellow axis carries the hue for red–green colour blindness.
const anchors: readonly (readonly [l: number, a: number, b: number])[] = [
  [0.975, -0.004, 0.04],
  [0.905, -0.032, 0.062],
  [0.83, -0.052, 0.034],
  [0.755, -0.05, -0.012],
  [0.68, -0.034, -0.062],
];

/** Colour at `share` of the scale, 0 palest to 1 deepest, as #rrggbb. */
export function scaleColor(share: number): string {
  const place = Math.min(1, Math.max(0, share)) * (anchors.length - 1);
  const i = Math.min(anchors.length - 2, Math.floor(place));
  const t = place - i;
  const [from, to] = [anchors[i]!, anchors[i + 1]!];
  const [l, a, b] = [0, 1, 2].map((k) => from[k]! + t * (to[k]! - from[k]!)) as [
    number,
    number,
    number,
  ];
  return okLabHex(l, a, b);
}

/** @source Ottosson, B. (2020), A perceptual color space for image processing (OKLab to linear sRGB) */
function okLabHex(l: number, a: number, b: number): string {
  const long = (l + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const medium = (l - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const short = (l - 0.0894841775 * a - 1.291485548 * b) ** 3;
  const linear = [
    4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short,
    -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short,
    -0.0041960863 * long - 0.7034186147 * medium + 1.707614701 * short,
  ];
  return `#${linear.map(channelHex).join('')}`;
}

function channelHex(linear: number): string {
  const value = Math.min(1, Math.max(0, linear));
  const shown = value <= 0.0031308 ? 12.92 * value : 1.055 * value ** (1 / 2.4) - 0.055;
  return Math.round(shown * 255)
    .toString(16)
    .padStart(2, '0');
}
