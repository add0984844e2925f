import { type Content, html, Markup } from '../markup/markup.ts';
import { tableHtml } from '../table/table.ts';
import { documentText } from './document.ts';
import type {
  CaptionedFigure,
  Finding,
  NextRuns,
  PlanSummary,
  StudyPageInput,
  TradeOffPart,
} from './input.ts';
import { modelPart } from './model.ts';
import { panelLink, panelScript, panelSlot } from './panel-slot.ts';
import {
  bulletList,
  captionedFigure,
  captionedFigures,
  type FigureNumbers,
  factList,
  figureNumbers,
  folded,
  isHalf,
  pairedFigures,
  savedTable,
  section,
} from './part.ts';
import { recipePart } from './recipe.ts';
import { runLogPart } from './run-log.ts';
import { pageStyle } from './style.ts';

/**
 * A study as one self-contained page: the answer, the recipe, what to do next, then why it may be
 * believed, details folded away. Readable without script and without a network, on a phone and on
 * A4 paper.
 *
 * @param input - everything said on the page, in its order
 * @returns an HTML document
 */
export function studyPage(input: StudyPageInput): string {
  const next = figureNumbers();
  const parts = pageParts(input, next).filter(({ content }) => content !== null);
  const style = {
    title: input.title,
    style: new Markup(pageStyle),
    hasScript: input.panel !== undefined,
  };
  return documentText(
    style,
    html`<a class="skip" href="#main">Skip to the recipe</a>
<div class="page">
<header>
<h1>${input.title}</h1>
<p class="answer">${input.answer}</p>
${input.notice !== undefined && html`<p class="notice">${input.notice}</p>\n`}${folded('About this job', factList(input.job), { prints: true })}<nav class="no-print" aria-label="On this page"><ul>
${parts.map(({ id, heading }) => [
  html`<li><a href="#${id}">${heading}</a></li>\n`,
  id === 'recipe' && panelLink(input.panel),
])}</ul></nav>
</header>
<main id="main">
${parts.map(({ id, heading, content }) => [
  section(id, heading, content),
  id === 'recipe' && panelSlot(input.panel),
])}</main>
<footer>
<h2 class="plain">Cautions</h2>
${bulletList(input.cautions)}<p class="only-print quiet">This print leaves out what is folded away on the screen: further maps, single effects, checks of the models with their pictures, terms, timeline and raw logs.</p>
</footer>
</div>
${panelScript(input.panel)}`,
  );
}

interface Part {
  readonly id: string;
  readonly heading: string;
  readonly content: Content;
}

/** The sections in reading order; one without anything to say is left out. */
function pageParts(input: StudyPageInput, next: FigureNumbers): Part[] {
  const { models, cannotSay, surfaces, findings, tradeOff } = input;
  const orNone = (isThere: boolean, content: () => Content): Content =>
    isThere ? content() : null;
  return [
    { id: 'recipe', heading: 'The recipe', content: recipePart(input.recipe) },
    { id: 'next', heading: 'What to run next', content: input.next && nextPart(input.next) },
    {
      id: 'surfaces',
      heading: 'Where it is good',
      content: orNone(surfaces.length > 0, () => surfacePart(input, next)),
    },
    {
      id: 'trade-off',
      heading: 'What trades against what',
      content: tradeOff ? tradeOffPart(tradeOff, next) : null,
    },
    {
      id: 'matters',
      heading: 'What matters',
      content: orNone(findings.length > 0, () => [
        input.overview && captionedFigure(input.overview, next),
        findings.map((finding) => findingPart(finding, next)),
      ]),
    },
    { id: 'runs', heading: 'What was run', content: runLogPart(input.runs, next) },
    {
      id: 'models',
      heading: 'Whether the models stand',
      content: orNone(models.length > 0, () => models.map((model) => modelPart(model, next))),
    },
    {
      id: 'cannot-say',
      heading: 'What cannot be said',
      content: orNone(cannotSay.length > 0, () => bulletList(cannotSay)),
    },
    { id: 'plan', heading: 'The plan behind it', content: planPart(input.plan, next) },
    {
      id: 'provenance',
      heading: 'Where this comes from',
      content: [
        factList(input.provenance),
        (input.provenanceTables ?? []).map((table) => folded(table.caption, tableHtml(table))),
      ],
    },
  ];
}

/** What could be done next, the best first, and the cells of the first thing to do. */
const nextPart = ({ sentence, steps = [], influences = [], table }: NextRuns): Content => [
  html`<p>${sentence}</p>\n`,
  steps.length > 0 &&
    html`<ol class="steps">\n${steps.map((says) => html`<li>${says}</li>\n`)}</ol>\n`,
  influences.length > 0 && [
    html`<h3>What single cells do to the recommendation</h3>\n`,
    bulletList(influences),
  ],
  table && folded(table.caption, tableHtml(table), { prints: true }),
];

const surfacePart = (
  { surfaces, moreSurfaces = [] }: StudyPageInput,
  next: FigureNumbers,
): Content => [
  pairedFigures(surfaces, next),
  moreSurfaces.length > 0 &&
    folded('More views of the same surfaces', pairedFigures(moreSurfaces, next)),
];

const tradeOffPart = ({ sentence, figure, table }: TradeOffPart, next: FigureNumbers): Content => [
  html`<p>${sentence}</p>\n`,
  captionedFigure(figure, next),
  savedTable(table, 'trade-off'),
];

const findingPart = (
  { response, sentence, figures, closer = [] }: Finding,
  next: FigureNumbers,
): Content => [
  html`<h3>${response}</h3>\n<p>${sentence}</p>\n`,
  captionedFigures(figures, next),
  closer.length > 0 && folded(`A closer look at ${response}`, closerFigures(closer, next)),
];

/** Whole figures under each other, then those that stand side by side. */
const closerFigures = (closer: readonly CaptionedFigure[], next: FigureNumbers): Content => [
  captionedFigures(
    closer.filter(({ figure }) => !isHalf(figure)),
    next,
  ),
  pairedFigures(
    closer.filter(({ figure }) => isHalf(figure)),
    next,
  ),
];

const planPart = (
  { sentence, facts, tables = [], figures = [] }: PlanSummary,
  next: FigureNumbers,
): Content => [
  html`<p>${sentence}</p>\n`,
  tables.map((table) => tableHtml(table)),
  facts.length + figures.length > 0 &&
    folded('What the plan could tell before it was run', [
      factList(facts),
      captionedFigures(figures, next),
    ]),
];
