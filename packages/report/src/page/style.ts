import { accent, ink, paper, quiet, rule, seriesStyles, warn, wash } from '../figure/palette.ts';

/** What each colour of a figure becomes in the dark; maps stay as they are. */
const darkColours: Readonly<Record<string, string>> = {
  [ink]: '#e6ecee',
  [quiet]: '#a9b8bf',
  [rule]: '#34434b',
  [paper]: '#11191e',
  [accent]: '#8fc7e2',
  [warn]: '#f0a57e',
  [wash]: '#22333c',
  [seriesStyles[2]!.color]: '#c5cf86',
  [seriesStyles[3]!.color]: '#c9b1e4',
};

const darkFigures = Object.entries(darkColours)
  .flatMap(([light, dark]) =>
    (['fill', 'stroke'] as const).map(
      (what) =>
        `.plate:not(.map) svg[${what}="${light}"], .plate:not(.map) svg [${what}="${light}"] { ${what}: ${dark}; }`,
    ),
  )
  .join('\n');

const screen = `
:root { color-scheme: light dark; --ink: ${ink}; --quiet: ${quiet}; --rule: ${rule}; --paper: ${paper}; --accent: ${accent}; --warn: ${warn}; --wash: ${wash}; --strong-rule: #7d8b93; }
@media screen and (prefers-color-scheme: dark) { :root { --ink: #e6ecee; --quiet: #a9b8bf; --rule: #34434b; --paper: #11191e; --accent: #8fc7e2; --warn: #f0a57e; --wash: #1d2a31; --strong-rule: #71828b; } }
* { box-sizing: border-box; }
html { font-size: 106.25%; -webkit-text-size-adjust: 100%; }
body { margin: 0; background: var(--paper); color: var(--ink); font-family: system-ui, "Segoe UI", "Helvetica Neue", Arial, sans-serif; line-height: 1.55; }
.page { max-width: 46rem; margin: 0 auto; padding: 0 1.25rem 4rem; }
.skip { position: absolute; left: -99rem; }
.skip:focus { left: 1rem; top: .5rem; background: var(--paper); padding: .5rem 1rem; z-index: 1; }
:focus-visible { outline: 3px solid var(--accent); outline-offset: 2px; }
a { color: var(--accent); }
h1, h2, h3 { line-height: 1.25; text-wrap: balance; }
h1 { font-size: 1.9rem; font-weight: 600; margin: 2.5rem 0 .5rem; letter-spacing: -.01em; }
h2 { font-size: 1.3rem; font-weight: 600; margin: 3.5rem 0 1rem; padding-top: .9rem; border-top: 2px solid var(--ink); }
h3 { font-size: 1.05rem; font-weight: 600; margin: 2.25rem 0 .5rem; }
h4 { font-size: 1rem; font-weight: 600; margin: 1.5rem 0 .4rem; }
p, ul, ol { margin: 0 0 1rem; }
li { margin: .3rem 0; }
.answer { font-size: 1.18rem; line-height: 1.5; margin: 0 0 1.5rem; }
.notice { border-left: 4px solid var(--warn); padding: .1rem 0 .1rem .9rem; margin: 1.5rem 0; }
.quiet { color: var(--quiet); }
.only-print { display: none; }
nav { margin: 1.5rem 0 0; }
nav ul { list-style: none; padding: 0; margin: 0; display: flex; flex-wrap: wrap; gap: .2rem 1.3rem; }
nav li { margin: 0; }
nav a { display: inline-block; padding: .2rem 0; }
.facts { display: grid; grid-template-columns: fit-content(62%) minmax(5rem, 1fr); gap: .2rem 1.5rem; margin: 0 0 1rem; }
.facts dt { color: var(--quiet); }
.facts dd { margin: 0; overflow-wrap: anywhere; font-variant-numeric: tabular-nums; }
.set-points { display: grid; grid-template-columns: repeat(auto-fill, minmax(6.3rem, 1fr)); gap: 1.1rem .4rem; margin: 1.25rem 0 1.5rem; padding: 0; list-style: none; }
.set-points > li { margin: 0; padding: 0 0 0 .7rem; border-left: 2px solid var(--strong-rule); }
.set-points .name { display: block; color: var(--quiet); font-size: .85rem; }
.set-points .value { display: block; font-size: 1.9rem; line-height: 1.2; font-weight: 600; font-variant-numeric: tabular-nums; white-space: nowrap; }
.set-points .unit { font-size: .95rem; font-weight: 400; }
.set-points .window { display: block; font-size: .85rem; font-variant-numeric: tabular-nums; white-space: nowrap; }
.chance { font-size: 1.1rem; }
.chance strong { font-size: 1.5rem; font-variant-numeric: tabular-nums; }
.scroll { overflow-x: auto; max-width: 100%; }
table { border-collapse: collapse; width: 100%; margin: .5rem 0 1rem; font-size: .88rem; line-height: 1.35; }
table.narrow { width: auto; min-width: min(100%, 22rem); }
caption { text-align: left; font-weight: 600; padding: .3rem 0 .5rem; font-size: .95rem; }
th, td { padding: .32rem .6rem; text-align: left; vertical-align: baseline; font-weight: 400; }
th:first-child, td:first-child { padding-left: 0; }
th:last-child, td:last-child { padding-right: 0; }
thead th { color: var(--quiet); vertical-align: bottom; white-space: normal; border-bottom: 1.5px solid var(--ink); }
tbody tr { border-bottom: 1px solid var(--rule); }
.numbers { text-align: right; font-variant-numeric: tabular-nums; }
td.numbers { white-space: nowrap; }
td.words:last-child { min-width: 8.5rem; }
.below { display: block; color: var(--quiet); font-size: .92em; white-space: nowrap; }
.codes { font-family: ui-monospace, "SF Mono", Menlo, Consolas, "DejaVu Sans Mono", monospace; font-size: .72rem; overflow-wrap: anywhere; min-width: 12rem; }
th.words[scope=row] { hyphens: none; }
h3::first-letter { text-transform: uppercase; }
@media (min-width: 64rem) { .scroll.wide { width: min(62rem, 100vw - 4rem); max-width: none; margin-left: calc((100% - min(62rem, 100vw - 4rem)) / 2); } }
figure { margin: 1.5rem 0 2rem; }
figcaption { font-weight: 600; margin: 0 0 .4rem; }
figcaption .note { display: block; font-weight: 400; color: var(--quiet); font-size: .9rem; }
.plate { background: ${paper}; border-radius: 3px; }
.plate svg { display: block; width: 100%; min-width: 32rem; height: auto; }
.plate.half svg { min-width: 0; max-width: 31rem; }
.pairs { display: grid; gap: 0 2rem; margin: 0 0 1rem; }
.pairs figure { margin: 1rem 0 1.2rem; min-width: 0; }
@media (min-width: 64rem) { .pairs { grid-template-columns: 1fr 1fr; width: min(62rem, 100vw - 4rem); margin-left: calc((100% - min(62rem, 100vw - 4rem)) / 2); } .pairs figure { display: grid; grid-template-rows: subgrid; grid-row: span 2; align-content: start; } .pairs figcaption { align-self: end; } }
details { margin: 0 0 .7rem; border-top: 1px solid var(--rule); }
details + details { margin-top: -.7rem; }
summary { cursor: pointer; padding: .55rem 0; color: var(--accent); list-style-position: outside; margin-left: 1.1rem; }
summary:hover { text-decoration: underline; }
details[open] > summary { font-weight: 600; }
.inside { padding: .2rem 0 .6rem; }
.steps { padding-left: 1.6rem; }
.steps li:first-child { font-weight: 600; }
@media screen and (prefers-color-scheme: dark) {
.plate { background: #11191e; }
.plate.map { background: ${paper}; filter: brightness(.9); }
${darkFigures}
}
.download { font-size: .88rem; margin-top: -.5rem; }
@media (max-width: 34rem) { .facts { gap: .2rem 1rem; } th, td { padding: .32rem .4rem; } }
footer { font-size: .92rem; }
`;

const panel = `
.try { background: var(--wash); padding: 1rem 1.1rem 1.2rem; margin: 1rem 0; }
.try-controls { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(17rem, 100%), 1fr)); gap: .4rem 1.6rem; border: 0; padding: 0; margin: 0 0 .8rem; }
.try-controls legend { font-weight: 600; padding: 0; margin-bottom: .4rem; }
.try-control { display: grid; grid-template-columns: minmax(3.4rem, auto) minmax(3rem, 1fr) 4.3rem 1.9rem; align-items: center; gap: .5rem; min-height: 2.6rem; }
.try-control input, .try-control select, .try button { font: inherit; color: inherit; accent-color: var(--accent); }
.try-control input[type=number], .try-control select { width: 100%; padding: .2rem .3rem; background: var(--paper); border: 1px solid var(--strong-rule); border-radius: 3px; font-variant-numeric: tabular-nums; }
.try-control input[type=range] { width: 100%; min-height: 1.6rem; }
.try-control select { grid-column: 2 / 5; }
.try button { background: var(--paper); border: 1px solid var(--strong-rule); border-radius: 3px; padding: .35rem .9rem; cursor: pointer; }
.try button { margin-bottom: .6rem; }
.try-map-choice { display: flex; flex-wrap: wrap; gap: .4rem 1.2rem; border: 0; padding: 0; margin: .9rem 0 .6rem; }
.try-map-choice:empty { display: none; }
.try-map-choice legend { font-weight: 600; padding: 0; margin-bottom: .3rem; }
.try-map-choice select { font: inherit; color: inherit; background: var(--paper); border: 1px solid var(--strong-rule); border-radius: 3px; padding: .2rem .3rem; max-width: 14rem; }
.try-warnings { margin: .9rem 0 0; padding: 0; list-style: none; }
.try-warnings li { border-left: 4px solid var(--warn); padding-left: .7rem; }
.try table { font-size: 1rem; }
.try .plate.half { max-width: 31rem; }
.try-spoken { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
`;

const print = `
@page { size: A4; margin: 17mm 16mm 18mm; @bottom-right { content: counter(page) " / " counter(pages); font: 9pt system-ui, sans-serif; color: #51626c; } }
@media print {
  :root { color-scheme: light; --ink: ${ink}; --quiet: ${quiet}; --rule: ${rule}; --paper: ${paper}; --accent: ${accent}; --warn: ${warn}; --wash: ${wash}; --strong-rule: #7d8b93; }
  html { font-size: 10pt; }
  body { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  .page { max-width: none; padding: 0; }
  .no-print, .skip { display: none !important; }
  h1 { margin-top: 0; }
  h2 { margin-top: 2rem; break-after: avoid; }
  h3, h4, figcaption, caption { break-after: avoid; }
  p:has(+ figure), p:has(+ .scroll), p:has(+ .pairs), p:has(+ ol) { break-after: avoid; }
  figure, figcaption, .plate, .set-points, .chance, tr, .facts { break-inside: avoid; }
  table.short { break-inside: avoid; }
  .plate { break-before: avoid; }
  thead { display: table-header-group; }
  .scroll, .scroll.wide { overflow: visible; width: auto; margin-left: 0; }
  .codes { font-size: 6.5pt; }
  .plate svg { min-width: 0; width: 124mm; }
  .plate.half svg { width: 100%; max-width: none; }
  .pairs { grid-template-columns: 1fr 1fr; gap: 0 6mm; width: auto; margin-left: 0; }
  .pairs figure { display: block; margin: .5rem 0 1rem; break-inside: avoid; }
  .pairs figcaption, .pairs .note { font-size: .86em; }
  details { border: 0; }
  details:not(.prints):not([open]) { display: none; }
  details.prints::details-content, details[open]::details-content { content-visibility: visible; display: block; height: auto; }
  summary { display: none; }
  figure { margin: 1rem 0 1.4rem; }
  table { font-size: .82rem; }
  .wide table { font-size: 7.4pt; }
  .widest table { font-size: 6pt; }
  .wide th, .wide td { padding: .22rem .2rem; }
  .wide td.words:last-child { min-width: 0; }
  p, li { break-inside: avoid; }
  .only-print { display: block; }
  a { color: inherit; text-decoration: none; }
}
`;

/** The page's whole style sheet; nothing is fetched. */
export const pageStyle = screen + panel + print;

/** The run sheet's: large numbers, room to write, paper first. */
export const runSheetStyle = `
@page { size: A4 landscape; margin: 11mm 11mm 13mm; @bottom-right { content: counter(page) " / " counter(pages); font: 9pt system-ui, sans-serif; color: #51626c; } }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 70rem; padding: 1rem; color: ${ink}; background: ${paper}; font-family: system-ui, "Segoe UI", "Helvetica Neue", Arial, sans-serif; font-size: 10pt; line-height: 1.35; }
h1 { font-size: 15pt; margin: 0 0 .2rem; }
p { margin: .15rem 0; }
ul { margin: .3rem 0 .6rem; padding-left: 1.2rem; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; margin-top: .5rem; }
caption { text-align: left; color: ${quiet}; padding-bottom: .3rem; }
th, td { padding: .15rem .35rem; text-align: right; font-weight: 400; vertical-align: middle; }
thead th { color: ${quiet}; font-size: 8.5pt; vertical-align: bottom; border-bottom: 1.5px solid ${ink}; text-align: center; }
tbody tr { border-bottom: 1px solid ${rule}; height: 13.5mm; }
tbody tr.new-zones { border-top: 2px solid ${ink}; }
tbody th { font-size: 14pt; font-weight: 600; text-align: left; }
.set { font-size: 15pt; font-variant-numeric: tabular-nums; white-space: nowrap; }
.set.changed { font-weight: 700; }
.set small, .hold small { display: block; font-size: 8pt; font-weight: 400; line-height: 1; }
.hold { font-size: 11pt; font-variant-numeric: tabular-nums; }
.blank { border-left: 1px solid ${rule}; min-width: 15mm; }
.outcome { text-align: left; font-size: 8.5pt; white-space: nowrap; border-left: 1px solid ${rule}; line-height: 1.25; }
@media print { body { padding: 0; max-width: none; print-color-adjust: exact; -webkit-print-color-adjust: exact; } .scroll { overflow: visible; } thead { display: table-header-group; } tr { break-inside: avoid; } }
`;
