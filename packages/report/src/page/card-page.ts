import { type Content, html, Markup } from '../markup/markup.ts';
import { type Table, tableHtml } from '../table/table.ts';
import { documentText } from './document.ts';
import type { CaptionedFigure, Fact } from './input.ts';
import { bulletList, captionedFigure, factList, figureNumbers, section, slug } from './part.ts';
import { pageStyle } from './style.ts';

/** One part of a card: any of its pieces, in this order. */
export interface CardSection {
  readonly heading: string;
  readonly sentences?: readonly string[];
  readonly facts?: readonly Fact[];
  readonly tables?: readonly Table[];
  readonly figures?: readonly CaptionedFigure[];
  readonly list?: readonly string[];
}

/** A sheet to print, sign and pin up: a recipe card or a spool's certificate. */
export interface CardInput {
  readonly title: string;
  /** The one line that matters most. */
  readonly answer: string;
  readonly notice?: string;
  readonly facts: readonly Fact[];
  /** Large values at the head, with what each may drift to. */
  readonly setPoints?: readonly {
    readonly name: string;
    readonly value: string;
    readonly unit: string;
    readonly range: string | null;
  }[];
  readonly sections: readonly CardSection[];
  /** Names for the blanks to sign at the foot. */
  readonly signatures: readonly string[];
  readonly cautions: readonly string[];
}

const cardStyle = `
.signatures { display: grid; grid-template-columns: repeat(auto-fit, minmax(12rem, 1fr)); gap: 2.5rem 2rem; margin: 3rem 0 1rem; }
.signatures div { border-top: 1px solid var(--ink); padding-top: .3rem; color: var(--quiet); }
@media print { .page { max-width: none; padding: 0; } h1 { margin-top: 0; } h2 { margin-top: 1.4rem; break-after: avoid; } .signatures { break-inside: avoid; } }
`;

/**
 * The card as one self-contained page, without script.
 *
 * @returns an HTML document
 */
export function cardPage(input: CardInput): string {
  const next = figureNumbers();
  const style = { title: input.title, style: new Markup(pageStyle + cardStyle), hasScript: false };
  return documentText(
    style,
    html`<div class="page">
<header>
<h1>${input.title}</h1>
<p class="answer">${input.answer}</p>
${input.notice !== undefined && html`<p class="notice">${input.notice}</p>\n`}${factList(input.facts)}</header>
<main>
${input.setPoints && setPointList(input.setPoints)}${input.sections.map((part) => section(slug(part.heading), part.heading, sectionBody(part, next)))}</main>
<footer>
<h2>Cautions</h2>
${bulletList(input.cautions)}<div class="signatures">${input.signatures.map((name) => html`<div>${name}</div>`)}</div>
</footer>
</div>
`,
  );
}

function sectionBody(part: CardSection, next: ReturnType<typeof figureNumbers>): Content {
  return [
    (part.sentences ?? []).map((text) => html`<p>${text}</p>\n`),
    factList(part.facts ?? []),
    (part.tables ?? []).map(tableHtml),
    (part.figures ?? []).map((figure) => captionedFigure(figure, next)),
    bulletList(part.list ?? []),
  ];
}

const setPointList = (points: NonNullable<CardInput['setPoints']>): Content =>
  html`<ul class="set-points" aria-label="Set points">\n${points.map(
    ({ name, value, unit, range }) =>
      html`<li><span class="name">${name}</span>\n<span class="value">${value}<span class="unit">\u202f${unit}</span></span>\n${range !== null && html`<span class="window">${range}</span>`}</li>\n`,
  )}</ul>\n`;
