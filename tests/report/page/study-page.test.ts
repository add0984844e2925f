import {
  runLogTable,
  type StudyPageInput,
  studyPage,
  tableCsv,
  termTable,
} from '@strandwise/report';
import { describe, expect, it } from 'vitest';
import { inventedStudy, withPanel } from './invented-study.ts';

/** The policy as a browser reads it. */
const policyOf = (html: string): string =>
  /Content-Security-Policy" content="([^"]+)"/.exec(html)![1]!.replaceAll('&#39;', "'");

const page = studyPage(inventedStudy);
const headings = [...page.matchAll(/<h([1-6])[^>]*>([^<]*)<\/h\1>/g)].map(
  ([, level, text]) => [Number(level), text] as const,
);

describe('studyPage', () => {
  it('sets its parts in the order a reader needs them', () => {
    expect(headings.filter(([level]) => level === 2).map(([, text]) => text)).toEqual([
      'The recipe',
      'What to run next',
      'Where it is good',
      'What trades against what',
      'What matters',
      'What was run',
      'Whether the models stand',
      'What cannot be said',
      'The plan behind it',
      'Where this comes from',
      'Cautions',
    ]);
  });

  it('has one first heading and skips no level', () => {
    expect(headings.filter(([level]) => level === 1)).toHaveLength(1);
    for (const [i, [level]] of headings.entries()) {
      expect(level - (headings[i - 1]?.[0] ?? 0)).toBeLessThanOrEqual(1);
    }
  });

  it('heads every table with a caption and scoped heads', () => {
    const tables = page
      .split(/<table[^>]*>/)
      .slice(1)
      .map((piece) => piece.split('</table>')[0]!);
    expect(tables.length).toBeGreaterThanOrEqual(5);
    for (const table of tables) {
      expect(table).toMatch(/^<caption>[^<]+<\/caption>/);
      expect(table).not.toMatch(/<th(?!ead)(?! scope="(col|row)")/);
    }
  });

  it('fetches nothing and forbids fetching', () => {
    expect(policyOf(page)).toContain("default-src 'none'");
    expect(policyOf(page)).toContain("script-src 'none'");
    expect(page).not.toMatch(/(src|href)="(?!#|data:text\/csv)/);
    expect(page).not.toMatch(/@import|url\((?!#)/);
  });

  it('marks no term with stars', () => {
    expect(page.split('<style>')[1]!.split('</style>')[1]).not.toContain('*');
  });

  it('has no empty value and no unique id twice', () => {
    const body = page.replace(/<style>[\s\S]*?<\/style>/, '');
    expect(body).not.toMatch(/undefined|NaN|\[object|>null</);
    const ids = [...body.matchAll(/ id="([^"]+)"/g)].map((match) => match[1]);
    expect(new Set(ids).size).toBe(ids.length);
    for (const [, target] of body.matchAll(/href="#([^"]+)"/g)) expect(ids).toContain(target);
  });

  it('leaves out what there is nothing to say about', () => {
    const { tradeOff: _, ...rest } = inventedStudy;
    const bare = studyPage({
      ...rest,
      findings: [],
      surfaces: [],
      models: [],
      cannotSay: [],
      next: null,
    });
    for (const heading of [
      'What matters',
      'Where it is good',
      'Whether the models stand',
      'What cannot be said',
      'What to run next',
      'What trades against what',
    ]) {
      expect(bare).not.toContain(heading);
    }
  });

  it('says why when there is no recipe', () => {
    const none = studyPage({
      ...inventedStudy,
      recipe: {
        kind: 'none',
        sentence: 'No setting keeps all limits.',
        reasons: ['Bubbles stay above 2 per m.'],
      },
    });
    expect(none).toContain('No setting keeps all limits.');
    expect(none).toContain('<li>Bubbles stay above 2 per m.</li>');
  });

  it('lets no name from a file become markup', () => {
    const evil = '"><script>alert(1)</script><img src=x onerror=alert(2)>';
    const poisoned = JSON.parse(
      JSON.stringify(withPanel('0'), (_, value) => {
        if (typeof value !== 'string' || isKeyword(value)) return value;
        return value + evil;
      }),
    ) as StudyPageInput;
    const html = studyPage(poisoned);
    expect(html).not.toMatch(/<img/);
    expect(html.match(/<script/g)).toHaveLength(2);
    expect(html).toContain('&lt;script&gt;alert(1)');
  });

  it('keeps the failed cells in the table with their reason', () => {
    expect(page).toContain('failed cold: strand unmelted, screw torque at its limit');
    const csv = tableCsv(runLogTable(inventedStudy.runs)).split('\r\n');
    expect(csv).toHaveLength(1 + inventedStudy.runs.rows.length + 1);
    expect(csv[4]).toMatch(/^4,2,177,193,203,188,5,0,,,,"failed cold: strand unmelted, screw/);
  });

  it('rounds estimates by their standard error and exports them in full', () => {
    const table = termTable(inventedStudy.models[0]!);
    expect(
      table.rows[0]!.slice(1, 3).map((cell) => (typeof cell === 'string' ? cell : cell.shown)),
    ).toEqual(['−4.571', '0.031']);
    expect(tableCsv(table)).toContain('intercept,-4.5713,0.0312,5.1,-146.5,1e-9');
  });

  it('gives the panel room only when there is one', () => {
    expect(page).not.toContain('<script');
    const html = studyPage(withPanel('globalThis.started = "</script>"'));
    expect(policyOf(html)).toContain("script-src 'unsafe-inline'");
    expect(html).toMatch(
      /<section id="try" class="no-print" aria-labelledby="try-heading" hidden>/,
    );
    expect(html.match(/<\/script>/g)).toHaveLength(2);
  });
});

/** Values that choose a form rather than being shown. */
function isKeyword(value: string): boolean {
  return /^(words|numbers|measured|cold|hot|feed|other|order|values|identity|ln|log-rate|[tz0]|recommended|contour|conformance-map|effects|interaction|power|region-fraction|residuals|normal-quantile|influence|timeline|trace|shares|trade-off|trace-grid|half|whole|smallest|largest|zone|screw|fan)$/.test(
    value,
  );
}
