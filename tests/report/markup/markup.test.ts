import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  element,
  escaped,
  html,
  Markup,
  scriptJson,
  scriptText,
} from '../../../packages/report/src/markup/markup.ts';

describe('html', () => {
  it('escapes what is filled in and keeps markup', () => {
    const name = '<img src=x onerror="alert(1)">';
    expect(html`<p title="${name}">${html`<b>${name}</b>`}</p>`.text).toBe(
      '<p title="&lt;img src=x onerror=&quot;alert(1)&quot;&gt;"><b>&lt;img src=x onerror=&quot;alert(1)&quot;&gt;</b></p>',
    );
  });

  it('escapes an object that only looks like markup', () => {
    const forged = JSON.parse('["<b>", {"text": "<i>"}]') as string[];
    expect(() => html`${forged}`.text).toThrow();
    expect(html`${forged.slice(0, 1)}`.text).toBe('&lt;b&gt;');
  });

  it('joins lists and leaves out nothing-values', () => {
    expect(html`${['a', 1, null, undefined, false]}`.text).toBe('a1');
  });

  it('law: escaped text has no markup character and reads back, any text', () => {
    fc.assert(
      fc.property(fc.string(), (text) => {
        const safe = escaped(text);
        expect(safe).not.toMatch(/[<>"']/);
        const back = safe
          .replaceAll('&lt;', '<')
          .replaceAll('&gt;', '>')
          .replaceAll('&quot;', '"')
          .replaceAll('&#39;', "'")
          .replaceAll('&amp;', '&');
        expect(back).toBe(text);
      }),
      { seed: 23 },
    );
  });

  it('replaces characters that would break an SVG file', () => {
    expect(escaped('a\u0000b\u000bc\ud800d\n')).toBe('a\ufffdb\ufffdc\ufffdd\n');
  });
});

describe('element', () => {
  it('rounds numbers, drops undefined and closes itself', () => {
    expect(element('line', { x1: 1 / 3, y1: -0.001, stroke: undefined }).text).toBe(
      '<line x1="0.33" y1="0"/>',
    );
    expect(element('g', {}, new Markup('<b/>'), '<').text).toBe('<g><b/>&lt;</g>');
  });
});

describe('script contents', () => {
  it('cannot end their element', () => {
    const data = { name: '</script><script>alert(1)</script><!--', line: '\u2028' };
    const text = scriptJson(JSON.stringify(data)).text;
    expect(text).not.toMatch(/[<>\u2028]/);
    expect(JSON.parse(text)).toEqual(data);
    expect(scriptText('const a = "</script>", b = "<!--";').text).not.toMatch(/<\/script|<!--/);
  });
});
