import { fixed, signed } from '../format/number.ts';
import { type Content, html, Markup } from '../markup/markup.ts';
import { documentText } from './document.ts';
import { runSheetStyle } from './style.ts';

/** A set point column of the sheet. */
export interface SheetSetting {
  readonly name: string;
  readonly unit?: string;
  readonly decimals?: number;
}

export interface SheetCell {
  readonly runOrder: number;
  readonly zoneSetting?: number;
  /** One entry a setting. */
  readonly setPoints: readonly (number | string)[];
  readonly holdMinutes: number | null;
  /** True when the hold is too short to renew the melt: marked beside the minutes. */
  readonly isUnderFlushed?: boolean;
}

/** What the mark beside a hold means, in words. */
export const underFlushedSays =
  'under-flushed: less than one barrel volume passes after the zones settle, so the cell before may carry over. Wait longer where you can, and note how long.';

/** A plan as a paper sheet: set points large, and blanks to fill by hand. */
export interface RunSheetInput {
  readonly title: string;
  /** Line, grade, lot, seed and the like, one line each. */
  readonly lines: readonly string[];
  readonly settings: readonly SheetSetting[];
  readonly cells: readonly SheetCell[];
  /** Heads of the columns to fill by hand: "set at", "mean mm", "SD mm". */
  readonly blanks: readonly string[];
  /** Words to ring for how a cell ended. */
  readonly outcomes: readonly string[];
  readonly cautions: readonly string[];
}

/**
 * The printable run sheet, one cell a row on A4 landscape. A set point that differs from the row
 * above is bold with the amount of the change under it.
 *
 * @returns an HTML document
 */
export function runSheet(input: RunSheetInput): string {
  const hasMarks = input.cells.some(({ isUnderFlushed }) => isUnderFlushed);
  const style = { title: input.title, style: new Markup(runSheetStyle), hasScript: false };
  return documentText(
    style,
    html`<main>
<h1>${input.title}</h1>
${input.lines.map((line) => html`<p>${line}</p>\n`)}<ul>
${input.cautions.map((caution) => html`<li>${caution}</li>\n`)}</ul>
<div class="scroll" tabindex="0" role="group" aria-label="Cells to run"><table>
<caption>One cell a row, in the order to run them. Bold: changed since the row above. A heavy rule: new zone setting.</caption>
<thead><tr>${heads(input)}</tr></thead>
<tbody>
${input.cells.map((cell, i) => cellRow(cell, input.cells[i - 1], input))}</tbody>
</table></div>
${
  hasMarks &&
  html`<p>! ${underFlushedSays}</p>
`
}</main>
`,
  );
}

function heads({ settings, blanks, outcomes }: RunSheetInput): Content[] {
  const names = [
    'run',
    ...settings.map(({ name, unit }) => (unit ? `${name} (${unit})` : name)),
    'hold (min)',
    ...blanks,
  ];
  const all = outcomes.length > 0 ? [...names, 'ended'] : names;
  return all.map((name) => html`<th scope="col">${name}</th>`);
}

function cellRow(cell: SheetCell, above: SheetCell | undefined, input: RunSheetInput): Content {
  const isNewZone = above !== undefined && cell.zoneSetting !== above.zoneSetting;
  const settings = input.settings.map((setting, j) =>
    settingCell(cell.setPoints[j] ?? '', above?.setPoints[j], setting),
  );
  const minutes = cell.holdMinutes === null ? '' : fixed(cell.holdMinutes, 0);
  const hold = cell.isUnderFlushed ? html`${minutes}<small>! under-flushed</small>` : minutes;
  const blanks = input.blanks.map(() => html`<td class="blank"></td>`);
  const ended =
    input.outcomes.length > 0 &&
    html`<td class="outcome">${input.outcomes.map((word) => html`☐\u00a0${word} `)}</td>`;
  return html`<tr${isNewZone && new Markup(' class="new-zones"')}><th scope="row">${cell.runOrder}</th>${settings}<td class="hold">${hold}</td>${blanks}${ended}</tr>\n`;
}

function settingCell(
  value: number | string,
  above: number | string | undefined,
  { decimals = 0 }: SheetSetting,
): Content {
  const shown = typeof value === 'number' ? fixed(value, decimals) : value;
  if (above === undefined || above === value) return html`<td class="set">${shown}</td>`;
  if (typeof value !== 'number' || typeof above !== 'number') {
    return html`<td class="set changed">${shown}<small>was ${above}</small></td>`;
  }
  const change = signed(value - above, decimals);
  return html`<td class="set changed">${shown}<small>${value > above ? '▲' : '▼'} ${change}</small></td>`;
}
