import { type Content, html, Markup } from '../markup/markup.ts';
import { tableHtml } from '../table/table.ts';
import { documentText } from './document.ts';
import type { Finding, StudyPageInput } from './input.ts';
import { modelPart } from './model.ts';
import { panelLink, panelScript, panelSlot } from './panel-slot.ts';
import {
  bulletList,
  captionedFigures,
  type FigureNumbers,
  factList,
  figureNumbers,
  section,
} from './part.ts';
import { recipePart } from './recipe.ts';
import { runLogPart } from './run-log.ts';
import { pageStyle } from './style.ts';

/**
 * A study as one self-contained page: recipe first, then why it may be believed. Readable without
 * script and without a network, on a phone and on A4 paper.
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
${input.notice !== undefined && html`<p class="notice">${input.notice}</p>\n`}${factList(input.job)}<nav class="no-print" aria-label="On this page"><ul>
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
${bulletList(input.cautions)}</footer>
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
  const { plan, models, cannotSay, next: nextRuns } = input;
  const orNone = (isThere: boolean, content: () => Content): Content =>
    isThere ? content() : null;
  return [
    { id: 'recipe', heading: 'The recipe', content: recipePart(input.recipe) },
    {
      id: 'matters',
      heading: 'What matters',
      content: orNone(input.findings.length > 0, () =>
        input.findings.map((finding) => findingPart(finding, next)),
      ),
    },
    {
      id: 'surfaces',
      heading: 'Where it is good',
      content: orNone(input.surfaces.length > 0, () => captionedFigures(input.surfaces, next)),
    },
    { id: 'runs', heading: 'What was run', content: runLogPart(input.runs, next) },
    {
      id: 'plan',
      heading: 'The plan behind it',
      content: [
        html`<p>${plan.sentence}</p>\n`,
        factList(plan.facts),
        (plan.tables ?? []).map((table) => tableHtml(table)),
        captionedFigures(plan.figures, next),
      ],
    },
    {
      id: 'models',
      heading: 'The models',
      content: orNone(models.length > 0, () => models.map((model) => modelPart(model, next))),
    },
    {
      id: 'cannot-say',
      heading: 'What cannot be said',
      content: orNone(cannotSay.length > 0, () => bulletList(cannotSay)),
    },
    {
      id: 'next',
      heading: 'What to run next',
      content: nextRuns && [
        html`<p>${nextRuns.sentence}</p>\n`,
        nextRuns.table && tableHtml(nextRuns.table),
      ],
    },
    {
      id: 'provenance',
      heading: 'Where this comes from',
      content: [
        factList(input.provenance),
        (input.provenanceTables ?? []).map((table) => tableHtml(table)),
      ],
    },
  ];
}

const findingPart = ({ response, sentence, figures }: Finding, next: FigureNumbers): Content => [
  html`<h3>${response}</h3>\n<p>${sentence}</p>\n`,
  captionedFigures(figures, next),
];
