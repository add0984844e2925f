/**
 * Text that is safe to put into a page as it stands. Only `html` and `element` make one, so a name
 * that came from a file cannot pass for markup: it is a plain string and gets escaped.
 */
export class Markup {
  readonly text: string;

  constructor(text: string) {
    this.text = text;
  }

  toString(): string {
    return this.text;
  }
}

export type Content = Markup | string | number | null | undefined | false | readonly Content[];

const entities: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

// Code points that XML 1.0 forbids: one of them in a name would make a whole figure unreadable.
const isForbidden = (code: number): boolean =>
  (code < 0x20 && code !== 0x09 && code !== 0x0a && code !== 0x0d) ||
  (code >= 0xd800 && code <= 0xdfff) ||
  code === 0xfffe ||
  code === 0xffff;

/** `text` made safe for element content and quoted attributes, of HTML and of XML. */
export function escaped(text: string): string {
  let out = '';
  for (const character of text) {
    out += isForbidden(character.codePointAt(0)!) ? '\ufffd' : (entities[character] ?? character);
  }
  return out;
}

/** Content as safe text: markup as it is, strings escaped, lists joined, nothing for empty values. */
export function contentText(content: Content): string {
  if (content instanceof Markup) return content.text;
  if (content === null || content === undefined || content === false) return '';
  if (typeof content === 'string') return escaped(content);
  if (typeof content === 'number') return String(content);
  return content.map(contentText).join('');
}

/** A template whose every filled-in value is escaped unless it is markup already. */
export function html(strings: TemplateStringsArray, ...values: readonly Content[]): Markup {
  let text = strings[0] ?? '';
  for (const [i, value] of values.entries()) text += contentText(value) + (strings[i + 1] ?? '');
  return new Markup(text);
}

export type Attributes = Readonly<Record<string, string | number | undefined>>;

/** A number with at most two decimals, and never −0: the grid on which figures are drawn. */
export function coordinate(value: number): string {
  return String(Math.round(value * 100) / 100 + 0);
}

/** One element. Numbers in attributes are rounded to 0.01; undefined attributes are left out. */
export function element(name: string, attributes: Attributes, ...content: Content[]): Markup {
  let text = `<${name}`;
  for (const [key, value] of Object.entries(attributes)) {
    if (value === undefined) continue;
    text += ` ${key}="${typeof value === 'number' ? coordinate(value) : escaped(value)}"`;
  }
  const inside = content.map(contentText).join('');
  return new Markup(inside === '' ? `${text}/>` : `${text}>${inside}</${name}>`);
}

/** JSON text made fit for a script element: no character sequence in it can end the element. */
export function scriptJson(json: string): Markup {
  const text = json
    .replaceAll('<', '\\u003c')
    .replaceAll('>', '\\u003e')
    .replaceAll('&', '\\u0026')
    .replaceAll('\u2028', '\\u2028')
    .replaceAll('\u2029', '\\u2029');
  return new Markup(text);
}

/** Program text that can stand inside a script element; our own bundle, never a person's input. */
export function scriptText(program: string): Markup {
  return new Markup(program.replace(/<(\/script|!--)/gi, '\\x3c$1'));
}
